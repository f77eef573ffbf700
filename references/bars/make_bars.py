#!/usr/bin/env python3
"""Three-bar targets of the MIL-STD-150A series with known contrast of every element, as grey PNG files, and truth.json.

    python3 make_bars.py                                    # the stored set into this folder
    python3 make_bars.py --count 120 --seed 7 --out DIR     # another, larger one
    python3 make_bars.py --gap 1 --seed 11 --out DIR        # patterns one bar width apart

Made with numpy 2.4.6 and scipy 1.17.1. Everything is computed; no picture of anybody's is in it. Licence: as the project.

Geometry (MIL-STD-150A 5.1.1.7): lp/mm = 2^(group + (element - 1)/6); bar = space = 1/(2 lp/mm); bar length 5 bar widths;
each element has two patterns at right angles. Arrangements: `nested` pairs of groups, the next pair in the middle at a
quarter of the size; `columns`, one group beside the other; `scattered`, patterns anywhere without touching.

A frame is drawn by the area that each bar covers on a grid SAMPLES times finer than the pixels, blurred there in the
frequency domain by disc * Gaussian * pixel, and sampled. Light falls off linearly. Photon noise, read noise, rounding.

Truth: the blurred profile across three infinitely long bars, by quadrature of the transfer function along the bars' normal;
contrast = (mean of the three extremes in the bars - mean of the two in the spaces) / (bar level - background level).
An element is `resolved` where that is at least the criterion: 0.153 (a dip of 26.5 % after Rayleigh), or 0.2.
"""
import argparse
import json
import os
import struct
import zlib

import numpy as np
from scipy.special import j1

HERE = os.path.dirname(os.path.abspath(__file__))
SAMPLES = 5
MARGIN_PX = 16
CRITERIA = (0.153, 0.2)


def line_pairs_per_mm(index):
    """Index 0 is group 0 element 1; six to a group."""
    return 2.0 ** (index / 6)


# ---------------------------------------------------------------- arrangements: patterns (index, 'h'|'v', x, y) in um

def rows_of(indices, x, y, width_um, gap, mirrored):
    out = []
    for i in indices:
        w = 500 / line_pairs_per_mm(i)
        pair = [("h", x + 2.5 * w), ("v", x + (7.5 + gap) * w)]
        if mirrored:
            pair = [("v", x + width_um - (7.5 + gap) * w), ("h", x + width_um - 2.5 * w)]
        out += [(i, kind, at, y + 2.5 * w) for kind, at in pair]
        y += (5 + gap) * w
    return out, y


def nested(first, last, gap):
    """Pairs of groups: elements 2..6 of the coarser down one side, the finer group down the other, element 1 below it."""
    out = []
    x0 = y0 = 0.0
    start = first
    while start <= last:
        w = 500 / line_pairs_per_mm(start)
        wide = (10 + gap) * w
        left, bottom = rows_of([i for i in range(start + 1, start + 6)], x0, y0, wide / 1.1225, gap, False)
        right_x = x0 + wide / 1.1225 + (7 + gap) * w
        right, low = rows_of(range(start + 6, start + 12), right_x, y0, wide / 2, gap, True)
        first_one, _ = rows_of([start], right_x + wide / 2 - wide, max(low + gap * w, bottom - 5 * w), wide, gap, True)
        out += left + right + first_one
        x0 = x0 + wide / 1.1225 + 0.8 * w
        y0 = y0 + 3.5 * w
        start += 12
    return [p for p in out if p[0] <= last]


def columns(first, last, gap):
    out = []
    x = 0.0
    for start in range(first, last + 1, 6):
        w = 500 / line_pairs_per_mm(start)
        rows, _ = rows_of(range(start, min(start + 6, last + 1)), x, 0.0, (10 + gap) * w, gap, False)
        out += rows
        x += (11 + 2 * gap) * w
    return out


def scattered(first, last, gap, rng):
    out = []
    size = 24 * 500 / line_pairs_per_mm(first)
    for i in range(first, last + 1):
        w = 500 / line_pairs_per_mm(i)
        for kind in "hv":
            for _ in range(4000):
                x, y = rng.uniform(0, size, 2)
                if all(max(abs(x - a), abs(y - b)) > 2.5 * (w + 500 / line_pairs_per_mm(j)) + gap * w
                       for j, _, a, b in out):
                    out.append((i, kind, x, y))
                    break
    return out


def bars_of(pattern):
    index, kind, x, y = pattern
    w = 500 / line_pairs_per_mm(index)
    for k in (-2, 0, 2):
        yield (x + k * w, y, w, 5 * w) if kind == "v" else (x, y + k * w, 5 * w, w)


SEGMENTS = {0: "abcdef", 1: "bc", 2: "abged", 3: "abgcd", 4: "fgbc", 5: "afgcd", 6: "afgedc"}
PLACES = {"a": (0, -2, 2, 0.5), "d": (0, 2, 2, 0.5), "g": (0, 0, 2, 0.5), "b": (1, -1, 0.5, 2), "c": (1, 1, 0.5, 2),
          "e": (-1, 1, 0.5, 2), "f": (-1, -1, 0.5, 2)}


def label_of(pattern, others):
    """The element's number beside its pattern, in seven strokes, half as high as the pattern; none where there is no room."""
    index, kind, x, y = pattern
    w = 500 / line_pairs_per_mm(index)
    for i, _, a, b in others:
        reach = 2.5 * 500 / line_pairs_per_mm(i) + 0.8 * w
        if (i, a, b) != (index, x, y) and abs(a - (x - 4.2 * w)) < reach + 0.7 * w and abs(b - y) < reach + 1.5 * w:
            return
    for s in SEGMENTS[index % 6 + 1]:
        dx, dy, sx, sy = PLACES[s]
        yield (x - 4.2 * w + 0.5 * dx * w, y + 0.5 * dy * w, 0.5 * sx * w, 0.5 * sy * w)


# ---------------------------------------------------------------- picture

def covered(rectangles, widths, angle, centre, um_per_px):
    """Share of each fine sample inside a rectangle; rectangles in target um, turned about the target's middle."""
    wide, high = widths
    nx, ny = (wide + 2 * MARGIN_PX) * SAMPLES, (high + 2 * MARGIN_PX) * SAMPLES
    out = np.zeros((ny, nx), np.float32)
    c, s = np.cos(angle), np.sin(angle)
    fine = 1 / SAMPLES
    for x, y, w, h in rectangles:
        px, py = (x * c - y * s) / um_per_px + centre[0], (x * s + y * c) / um_per_px + centre[1]
        w, h = w / um_per_px / 2, h / um_per_px / 2
        rx, ry = abs(w * c) + abs(h * s) + 1, abs(w * s) + abs(h * c) + 1
        i0, i1 = [int(np.clip((v + MARGIN_PX) * SAMPLES, 0, nx)) for v in (px - rx, px + rx)]
        j0, j1 = [int(np.clip((v + MARGIN_PX) * SAMPLES, 0, ny)) for v in (py - ry, py + ry)]
        if i1 <= i0 or j1 <= j0:
            continue
        gx = (np.arange(i0, i1) + 0.5) * fine - MARGIN_PX - px
        gy = (np.arange(j0, j1) + 0.5) * fine - MARGIN_PX - py
        u = gx[None, :] * c + gy[:, None] * s
        v = -gx[None, :] * s + gy[:, None] * c
        share = np.clip((w - np.abs(u)) / fine + 0.5, 0, 1) * np.clip((h - np.abs(v)) / fine + 0.5, 0, 1)
        out[j0:j1, i0:i1] = np.maximum(out[j0:j1, i0:i1], share)
    return out


def disc(z):
    z = np.maximum(z, 1e-9)
    return 2 * j1(z) / z


def transfer(fx, fy, radius, sigma):
    """Disc * Gaussian * pixel, frequencies in cycles per pixel."""
    f = np.hypot(fx, fy)
    return disc(2 * np.pi * radius * f) * np.exp(-2 * (np.pi * sigma * f) ** 2) * np.sinc(fx) * np.sinc(fy)


def blurred(fine, radius, sigma):
    fy = np.fft.fftfreq(fine.shape[0], 1 / SAMPLES)
    fx = np.fft.rfftfreq(fine.shape[1], 1 / SAMPLES)
    spectrum = np.fft.rfft2(fine) * transfer(fx[None, :], fy[:, None], radius, sigma)
    whole = np.fft.irfft2(spectrum, fine.shape)
    first = MARGIN_PX * SAMPLES + SAMPLES // 2
    return whole[first:-MARGIN_PX * SAMPLES:SAMPLES, first:-MARGIN_PX * SAMPLES:SAMPLES]


def true_contrast(width_px, radius, sigma, angle):
    """Contrast of three bars width_px wide whose normal makes `angle` with the pixel rows."""
    if width_px < 0.45:
        return 0.0
    f = np.linspace(0, 2.5, 1251)
    t = transfer(f * np.cos(angle), f * np.sin(angle), radius, sigma)
    bars = width_px * np.sinc(f * width_px) * (1 + 2 * np.cos(4 * np.pi * f * width_px))
    u = np.linspace(-2.5, 2.5, 101) * width_px
    profile = 2 * np.trapezoid(t * bars * np.cos(2 * np.pi * f * u[:, None]), f, axis=1)
    within = lambda k: np.abs(u / width_px - k) <= 0.5 + 1e-9
    peaks = np.mean([profile[within(k)].max() for k in (-2, 0, 2)])
    troughs = np.mean([profile[within(k)].min() for k in (-1, 1)])
    # Reversed contrast past a zero of the transfer function is no resolution: the middle bar must be above its spaces.
    middle = profile[50] - (profile[30] + profile[70]) / 2
    return float(peaks - troughs) if middle > 0 else float(min(0.0, middle))


def write_png(path, values, bits):
    height, width = values.shape
    raw = values.astype(">u2" if bits == 16 else "u1").tobytes()
    line = width * (bits // 8)
    rows = b"".join(b"\x00" + raw[i * line:(i + 1) * line] for i in range(height))

    def chunk(kind, content):
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
    with open(path, "wb") as out:
        out.write(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, bits, 0, 0, 0, 0))
                  + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b""))


# ---------------------------------------------------------------- one target

def draw(rng, i, small, fixed_gap=None):
    kind = ["nested", "nested", "columns", "scattered"][i % 4]
    first = int(rng.integers(-2, 4)) * 6
    gap = float(rng.uniform(1.25, 2.3))
    gap = gap if fixed_gap is None else fixed_gap
    groups = int(rng.integers(2, 5)) if kind != "scattered" else 2
    last = first + 6 * groups - 1
    patterns = {"nested": lambda: nested(first, last, gap), "columns": lambda: columns(first, last, gap),
                "scattered": lambda: scattered(first, last, gap, rng)}[kind]()
    xs, ys = np.array([p[2] for p in patterns]), np.array([p[3] for p in patterns])
    w = 500 / line_pairs_per_mm(first)
    span = max(np.ptp(xs), np.ptp(ys)) + 8 * w
    long_side = int(rng.integers(300, 420) if small else rng.integers(360, 640))
    # The target fills 60 to 130 % of the frame: now and then it is cropped.
    um_per_px = span / (long_side * rng.uniform(0.6, 1.3))
    wide, high = long_side, int(long_side * rng.uniform(0.7, 1.0))
    bits = 16 if i % 5 == 4 else 8
    full = 2 ** bits - 1
    dark, bright = full * rng.uniform(0.05, 0.2), full * rng.uniform(0.45, 0.8)
    bars_dark = bool(rng.integers(2))
    blur = float(np.exp(rng.uniform(np.log(0.35), np.log(3.0))))
    share = float(rng.uniform(0, 1))
    return {
        "arrangement": kind, "firstGroup": first // 6, "groups": groups, "bits": bits, "widthPx": wide, "heightPx": high,
        "umPerPx": round(float(um_per_px), 6), "barsDark": bars_dark,
        "rotationDeg": round(float(rng.uniform(-10, 10)), 3), "quarterTurns": int(rng.integers(4)),
        "offsetPx": [round(float(v), 2) for v in rng.uniform(-0.1, 0.1, 2) * long_side],
        "discRadiusPx": round(1.8 * blur * share ** 0.5, 4), "gaussPx": round(max(0.25, blur * (1 - share) ** 0.5), 4),
        "barDn": round(float(dark if bars_dark else bright), 2), "groundDn": round(float(bright if bars_dark else dark), 2),
        "gradient": [round(float(v), 3) for v in rng.uniform(-0.25, 0.25, 2)],
        "fullWellE": round(float(np.exp(rng.uniform(np.log(3000), np.log(30000))))),
        "readNoiseE": round(float(rng.uniform(2, 15)), 2), "labels": bool(rng.integers(2)),
    }, patterns


def pose(target):
    angle = np.radians(target["rotationDeg"] + 90 * target["quarterTurns"])
    size = (target["widthPx"], target["heightPx"])
    return angle, size, [n / 2 + o for n, o in zip(size, target["offsetPx"])]


def centred(patterns):
    xs, ys = np.array([p[2] for p in patterns]), np.array([p[3] for p in patterns])
    mx, my = (xs.max() + xs.min()) / 2, (ys.max() + ys.min()) / 2
    return [(i, k, x - mx, y - my) for i, k, x, y in patterns]


def render(target, patterns, rng):
    angle, size, centre = pose(target)
    shapes = [bar for p in patterns for bar in bars_of(p)]
    if target["labels"]:
        shapes += [s for p in patterns if p[1] == "h" for s in label_of(p, patterns)]
    share = blurred(covered(shapes, size, angle, centre, target["umPerPx"]), target["discRadiusPx"], target["gaussPx"])
    x = np.arange(size[0]) / size[0] - 0.5
    y = np.arange(size[1]) / size[1] - 0.5
    light = 1 + target["gradient"][0] * x[None, :] + target["gradient"][1] * y[:, None]
    grey = light * (target["groundDn"] + (target["barDn"] - target["groundDn"]) * share)
    full = 2 ** target["bits"] - 1
    per_e = full / target["fullWellE"]
    electrons = rng.poisson(np.maximum(grey, 0) / per_e) + target["readNoiseE"] * rng.standard_normal(grey.shape)
    return np.clip(np.rint(per_e * electrons), 0, full)


def truth_of(target, patterns):
    angle, size, centre = pose(target)
    scale = target["umPerPx"]
    # Which patterns lie wholly in the frame, and which way their bars run there.
    c, s = np.cos(angle), np.sin(angle)
    seen = []
    contrasts = {}
    for index in sorted({p[0] for p in patterns}):
        w = 500 / line_pairs_per_mm(index) / scale
        contrasts[index] = true_contrast(w, target["discRadiusPx"], target["gaussPx"], np.radians(target["rotationDeg"]))
    for index, kind, px, py in patterns:
        w = 500 / line_pairs_per_mm(index) / scale
        ax, ay = (px * c - py * s) / scale + centre[0] - 0.5, (px * s + py * c) / scale + centre[1] - 0.5
        reach = 2.5 * w * (abs(c) + abs(s)) + 0.6 * w
        whole = reach <= ax <= size[0] - 1 - reach and reach <= ay <= size[1] - 1 - reach
        turned = target["quarterTurns"] % 2 == 1
        runs = "horizontal" if (kind == "h") != turned else "vertical"
        contrast = contrasts[index]
        seen.append({"group": index // 6, "element": index % 6 + 1, "barsRun": runs, "whole": bool(whole),
                     "xPx": round(float(ax), 2), "yPx": round(float(ay), 2), "contrast": round(contrast, 4)})
    return seen


def last_resolved(seen, criterion):
    """Finest element with contrast and all coarser ones too: bars horizontal, vertical, and both at once."""
    out = {}
    for kind in ("horizontal", "vertical", "joint"):
        best = None
        for index in sorted({(e["group"], e["element"]) for e in seen}):
            here = [e for e in seen if (e["group"], e["element"]) == index and e["whole"]
                    and (kind == "joint" or e["barsRun"] == kind)]
            if len(here) < (2 if kind == "joint" else 1):
                continue
            if min(e["contrast"] for e in here) < criterion:
                break
            best = index
        out[kind] = None if best is None else {"group": best[0], "element": best[1]}
    return out


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--count", type=int, default=12)
    arguments.add_argument("--seed", type=int, default=20261126)
    arguments.add_argument("--out", default=HERE)
    arguments.add_argument("--gap", type=float, default=None, help="bar widths between patterns; drawn from 1.25 to 2.3 by default")
    arguments.add_argument("--large", action="store_true", help="frames up to 640 px")
    chosen = arguments.parse_args()
    os.makedirs(chosen.out, exist_ok=True)
    rng = np.random.default_rng(chosen.seed)
    lines = []
    while len(lines) < chosen.count:
        target, patterns = draw(rng, len(lines), not chosen.large, chosen.gap)
        patterns = centred(patterns)
        seen = truth_of(target, patterns)
        resolved = {str(c): last_resolved(seen, c) for c in CRITERIA}
        if resolved["0.2"]["joint"] is None or min(e["contrast"] for e in seen) > 0.1:
            continue
        name = f"target-{len(lines):03d}.png"
        write_png(os.path.join(chosen.out, name), render(target, patterns, rng), target["bits"])
        patterns_seen = [e for e in seen if e["whole"] and e["contrast"] > 0.02]
        lines.append(json.dumps({"file": name, **target, "lastResolved": resolved, "elements": patterns_seen}))
    with open(os.path.join(chosen.out, "truth.json"), "w") as out:
        out.write('{"seed": %d,\n "targets": [\n' % chosen.seed)
        out.write(",\n".join(lines))
        out.write("\n]}\n")


main()
