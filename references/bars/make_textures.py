#!/usr/bin/env python3
"""Frames without a three-bar pattern, as 8-bit grey PNG files: nothing may be read in them.

    python3 make_textures.py [--count 100] [--seed 5] [--out DIR] [--size 200]

Made with Debian's python3-numpy 1.24.2, python3-pil 9.4.0 and the DejaVu fonts. Kinds in turn: noise of different
grain, gratings of 4 to 20 bars five times as long as wide, long gratings of three, chirps, checkerboards, text, single lines,
rectangles at random, stripe codes, dots, rings, star, photographs of this repository's recorded frames (cut, away from drawn patches),
two bars, and bars of unequal width.
"""
import argparse
import glob
import os

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

HERE = os.path.dirname(os.path.abspath(__file__))
FONTS = sorted(glob.glob("/usr/share/fonts/truetype/dejavu/*.ttf"))
WORDS = "EEE m III Resolution HHH mmmm lEtter TEST 0123 FEEL === ### |||| Ш ≡ Ξ E3E mEm WWW nun minimum".split()


def shapes(size, background, draw_all, rng, angle=None):
    big = Image.new("L", (4 * size, 4 * size), int(background))
    draw_all(ImageDraw.Draw(big), 4 * size)
    turn = rng.uniform(-10, 10) if angle is None else angle
    big = big.rotate(turn, Image.BICUBIC, fillcolor=int(background))
    return np.asarray(big.resize((size, size), Image.BOX), float)


def fractal(size, rng, power):
    f = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :])
    f[0, 0] = 1
    spectrum = np.fft.rfft2(rng.standard_normal((size, size))) / f ** power
    field = np.fft.irfft2(spectrum, (size, size))
    return 120 + 45 * (field - field.mean()) / field.std()


def bars(draw, x, y, w, length, count, grey, upright, widths=None):
    for k in range(count):
        a = x + 2 * k * w
        b = a + (widths[k] if widths else w)
        draw.rectangle([a, y, b, y + length] if upright else [y, a, y + length, b], fill=int(grey))


def make(i, size, rng):
    n = 15
    kind = i % n
    dark, light = rng.uniform(20, 70), rng.uniform(130, 220)
    ink, ground = (dark, light) if rng.integers(2) else (light, dark)
    up = bool(rng.integers(2))
    if kind == 0:
        return fractal(size, rng, rng.uniform(0, 2))
    if kind == 1:
        def several(d, s):
            for _ in range(4):
                w, count = rng.uniform(0.01, 0.035) * s, int(rng.integers(4, 21))
                bars(d, rng.uniform(0, 0.4) * s, rng.uniform(0, 0.7) * s, w, 5 * w, count, ink, up)
        return shapes(size, ground, several, rng)
    if kind == 2:
        w = rng.uniform(0.02, 0.06) * 4 * size
        return shapes(size, ground, lambda d, s: bars(d, 0.3 * s, 0.1 * s, w, rng.choice([0.8, 2.2, 9, 14]) * w, 3, ink, up), rng)
    if kind == 3:
        x = np.linspace(0, 1, size)[None, :] * np.ones((size, 1))
        field = np.sign(np.sin(2 * np.pi * (4 * x + rng.uniform(5, 30) * x * x)))
        return 120 + 70 * (field if up else field.T)
    if kind == 4:
        period = rng.uniform(4, 40)
        y, x = np.mgrid[0:size, 0:size]
        return 120 + 60 * np.sign(np.sin(2 * np.pi * x / period) * np.sin(2 * np.pi * y / period))
    if kind in (5, 6):
        def text(d, s):
            font = ImageFont.truetype(FONTS[int(rng.integers(len(FONTS)))], int(rng.uniform(0.05, 0.3 if kind == 5 else 0.12) * s))
            y = 0
            while y < s:
                d.text((rng.uniform(0, 0.1) * s, y), " ".join(rng.choice(WORDS, 6)), font=font, fill=int(ink))
                y += font.size * 1.15
        return shapes(size, ground, text, rng)
    if kind == 7:
        def lines(d, s):
            for _ in range(int(rng.integers(1, 4))):
                a, b = rng.uniform(0, s, 2)
                d.line([a, 0, a + rng.uniform(-0.3, 0.3) * s, s] if up else [0, b, s, b], fill=int(ink), width=int(rng.uniform(4, 60)))
        return shapes(size, ground, lines, rng)
    if kind == 8:
        def boxes(d, s):
            for _ in range(60):
                x, y = rng.uniform(0, s, 2)
                a, b = rng.uniform(0.01, 0.2, 2) * s
                d.rectangle([x, y, x + a, y + b], fill=int(rng.uniform(20, 230)))
        return shapes(size, ground, boxes, rng)
    if kind == 9:
        def code(d, s):
            x = 0.05 * s
            while x < 0.95 * s:
                w = rng.choice([1, 1, 2, 3]) * 0.012 * s
                d.rectangle([x, 0.2 * s, x + w, rng.choice([0.3, 0.8]) * s], fill=int(ink))
                x += w + rng.choice([1, 1, 2, 3]) * 0.012 * s
        return shapes(size, ground, code, rng)
    if kind == 10:
        def dots(d, s):
            p = rng.uniform(0.04, 0.15) * s
            for a in np.arange(0, s, p):
                for b in np.arange(0, s, p):
                    d.ellipse([a, b, a + p / 2, b + p / 2], fill=int(ink))
        return shapes(size, ground, dots, rng)
    if kind == 11:
        y, x = np.mgrid[0:size, 0:size] - size / 2
        if rng.integers(2):
            return 120 + 70 * np.sin(rng.uniform(0.1, 1.2) * np.hypot(x, y))
        return 120 + 70 * np.sign(np.sin(int(rng.integers(8, 60)) * np.arctan2(y, x)))
    if kind == 12:
        files = sorted(glob.glob(os.path.join(HERE, "..", "recorded-frames", "d*.png"))) or [None]
        photo = np.asarray(Image.open(files[int(rng.integers(len(files)))]), float)
        side = min(photo.shape)
        return np.asarray(Image.fromarray(photo[:side, :side].astype("u1")).resize((size, size), Image.BICUBIC), float)
    if kind == 13:
        w = rng.uniform(0.02, 0.08) * 4 * size
        return shapes(size, ground, lambda d, s: (bars(d, 0.1 * s, 0.1 * s, w, 5 * w, 2, ink, up),
                                                  bars(d, 0.6 * s, 0.5 * s, w / 2, 2.5 * w, 2, ink, up)), rng)
    w = rng.uniform(0.02, 0.05) * 4 * size
    return shapes(size, ground, lambda d, s: bars(d, 0.2 * s, 0.2 * s, w, 5 * w, 3, ink, up, [w, 0.5 * w, 1.6 * w]), rng)


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--count", type=int, default=105)
    arguments.add_argument("--seed", type=int, default=5)
    arguments.add_argument("--size", type=int, default=128)
    arguments.add_argument("--out", default=os.path.join(HERE, "textures"))
    chosen = arguments.parse_args()
    os.makedirs(chosen.out, exist_ok=True)
    rng = np.random.default_rng(chosen.seed)
    for i in range(chosen.count):
        grey = make(i, chosen.size, rng)
        image = Image.fromarray(np.clip(grey, 1, 250).astype("u1")).filter(ImageFilter.GaussianBlur(rng.uniform(0, 1.5)))
        noisy = np.asarray(image, float) + rng.uniform(0, 2) * rng.standard_normal(grey.shape)
        Image.fromarray(np.clip(np.rint(noisy), 0, 255).astype("u1")).save(
            os.path.join(chosen.out, f"texture-{i:03d}.png"), optimize=True)


main()
