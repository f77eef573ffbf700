#!/usr/bin/env python3
"""Writes the TIFF variants that cameras and image tools write, with libtiff's own tools (Debian: libtiff-tools).

The pixels are a formula, so that a test can compute them again (x to the right, y down, 37 × 29 px):
  8 bit   (3x + 5y) mod 256
  16 bit  (977x + 1543y + (xy mod 61)) mod 65536
Made with libtiff 4.5.0. The files are in the public domain (CC0 1.0).
"""
import struct
import subprocess
from pathlib import Path

folder = Path(__file__).parent
width, height = 37, 29


def pixels(bits):
    for y in range(height):
        for x in range(width):
            yield (3 * x + 5 * y) % 256 if bits == 8 else (977 * x + 1543 * y + (x * y) % 61) % 65536


def tiffcp(*arguments):
    subprocess.run(["tiffcp", *arguments], cwd=folder, check=True)


for old in folder.glob("*.tif"):
    old.unlink()
for bits in (8, 16):
    raw = folder / "pixels.raw"
    base = f"base{bits}.tif"
    raw.write_bytes(b"".join(struct.pack("B" if bits == 8 else "<H", value) for value in pixels(bits)))
    subprocess.run(["raw2tiff", "-w", str(width), "-l", str(height), "-d", "byte" if bits == 8 else "short",
                    "-p", "minisblack", "-c", "none", raw.name, base], cwd=folder, check=True)
    # raw2tiff marks the bits as lsb first (FillOrder 2); every other variant is turned to msb first.
    for kind, shape in (("strip", ("-s", "-r", "7")), ("tile", ("-t", "-w", "16", "-l", "16"))):
        for order in ("L", "B"):
            for compression in ("none", "lzw", "lzw:2", "zip", "zip:2", "packbits"):
                name = f"grey{bits}-{kind}-{compression.replace(':2', '-predictor')}-{'little' if order == 'L' else 'big'}.tif"
                tiffcp("-f", "msb2lsb", f"-{order}", *shape, "-c", compression, base, name)
    tiffcp("-f", "msb2lsb", "-8", "-s", "-r", "7", "-c", "none", base, f"grey{bits}-bigtiff.tif")
    tiffcp("-f", "msb2lsb", "-L", "-s", "-c", "lzw", base, base, base, f"grey{bits}-three-pages.tif")
    tiffcp("-f", "lsb2msb", "-s", "-r", "7", "-c", "none", base, f"grey{bits}-lsb-first.tif")
    (folder / base).unlink()
    raw.unlink()
