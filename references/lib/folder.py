"""Writing a folder of frames: frames.csv, truth.json, manifest.json; or checking it without writing."""
import hashlib
import json
import platform
import subprocess
import sys

import numpy as np
from PIL import Image, TiffImagePlugin, TiffTags

PACKAGES = ["python3", "python3-numpy", "python3-scipy", "python3-pil", "python3-skimage", "python3-yaml"]


def versions():
    """Versions of the Debian packages in use; they fix the numbers and the photographs."""
    query = subprocess.run(["dpkg-query", "-W", "-f", "${Package}=${Version}\n", *PACKAGES], capture_output=True, text=True)
    return dict(line.split("=", 1) for line in query.stdout.split())


def digest(data):
    return hashlib.sha256(data).hexdigest()


def save(path, pixels):
    """8 bit as PNG, 12 bit as plain uncompressed little-endian 16-bit TIFF whose MaxSampleValue (TIFF 6.0) is 4095."""
    if pixels.dtype == np.uint8:
        Image.fromarray(pixels).save(path, optimize=True)
    else:
        tags = TiffImagePlugin.ImageFileDirectory_v2()
        tags.tagtype[281] = TiffTags.SHORT
        tags[281] = 4095
        Image.fromarray(pixels).save(path, compression=None, tiffinfo=tags)


def finish(folder, script, rows, truth, photograph, self_check):
    """rows: dicts with the columns of frames.csv and `pixels`."""
    check_only = "--check" in sys.argv
    columns = ["file", "focalPowerDpt", "workingDistanceMm", "temperatureDegC", "exposureMs"]
    csv = ",".join(columns) + "\n" + "".join(",".join(str(r[c]) for c in columns) + "\n" for r in rows)
    texts = {"frames.csv": csv, "truth.json": json.dumps(truth, indent=1) + "\n"}
    pixel_hashes = {r["file"]: digest(np.ascontiguousarray(r["pixels"]).astype("<u2").tobytes()) for r in rows}
    if check_only:
        manifest = json.loads((folder / "manifest.json").read_text())
        wrong = [f for f, h in pixel_hashes.items() if manifest["frames"].get(f, {}).get("pixelsSha256") != h]
        wrong += [name for name, text in texts.items() if (folder / name).read_text() != text]
        if wrong:
            raise SystemExit(f"differs from what the script computes: {', '.join(wrong)}")
        print(f"{len(rows)} frames and {len(texts)} files are what the script computes")
        return
    for old in [*folder.glob("*.png"), *folder.glob("*.tif")]:
        old.unlink()
    for row in rows:
        save(folder / row["file"], row["pixels"])
    for name, text in texts.items():
        (folder / name).write_text(text)
    manifest = {
        "script": script,
        "machine": platform.machine(),
        "packages": versions(),
        "photograph": photograph,
        "selfCheck": self_check,
        "files": {name: digest((folder / name).read_bytes()) for name in [*texts, "station.yaml"]},
        "frames": {r["file"]: {"sha256": digest((folder / r["file"]).read_bytes()), "pixelsSha256": pixel_hashes[r["file"]]} for r in rows},
    }
    (folder / "manifest.json").write_text(json.dumps(manifest, indent=1) + "\n")
    size = sum(p.stat().st_size for p in folder.iterdir())
    print(f"{len(rows)} frames, {size / 1e6:.2f} MB in {folder.name}/")
