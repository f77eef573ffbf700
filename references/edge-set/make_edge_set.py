#!/usr/bin/env python3
"""Many slanted edges of known MTF, drawn at random, as grey PNG files, with truth.json beside them.

    python3 make_edge_set.py                               # the stored set: 200 edges into this folder
    python3 make_edge_set.py --count 1000 --seed 7 --out DIR   # another, larger one

Made with numpy 2.4.6 and scipy 1.17.1. Everything is computed; no picture of anybody's is in it. Licence: as the project.

The scene is a straight step. It is blurred by disc * Gaussian, integrated over the pixel's square, sampled, and given
photon noise, read noise and rounding. The blurred step's line spread function is taken by quadrature in space: the disc's
projection is a half ellipse, so ESF(d) = integral over the half ellipse of Phi((d - t)/sigma). The pixel's square is the
mean over a grid of 9 x 9 Gauss-Legendre points. The truth is the closed form

    MTF(f) = | 2 J1(2 pi R f)/(2 pi R f) | exp(-2 pi^2 sigma^2 f^2) | sinc(f cos a) sinc(f sin a) |

at f cycles per pixel along the edge's normal, a the tilt against the pixel grid.
"""
import argparse
import json
import os
import struct
import zlib

import numpy as np
from scipy.optimize import brentq
from scipy.special import j1, ndtr

HERE = os.path.dirname(os.path.abspath(__file__))
FREQUENCIES = np.round(np.arange(1, 51) / 100, 2)


def edge_spread(radius, sigma):
    """ESF of disc * Gaussian on a fine grid, as an interpolating function."""
    reach = radius + 8 * sigma + 1
    grid = np.arange(-reach, reach + 1 / 512, 1 / 256)
    # t = R sin(q): half ellipse 2/(pi R^2) sqrt(R^2 - t^2) dt = 2/pi cos^2 q dq, midpoint rule in q (periodic: exact)
    q = (np.arange(240) + 0.5) / 240 * np.pi - np.pi / 2
    weights = np.cos(q) ** 2
    weights /= weights.sum()
    values = np.zeros_like(grid)
    for t, w in zip(radius * np.sin(q), weights):
        values += w * ndtr((grid - t) / sigma)
    return lambda d: np.interp(d, grid, values, left=0.0, right=1.0)


def edge_image(edge):
    a = np.radians(edge["angleDeg"])
    spread = edge_spread(edge["discRadiusPx"], edge["gaussPx"])
    nodes, weights = np.polynomial.legendre.leggauss(9)
    x = np.arange(edge["widthPx"]) - (edge["widthPx"] - 1) / 2
    y = np.arange(edge["heightPx"]) - (edge["heightPx"] - 1) / 2
    d = (x[None, :] - edge["offsetPx"]) * np.cos(a) - y[:, None] * np.sin(a)
    share = np.zeros_like(d)
    for u, wu in zip(nodes / 2, weights / 2):
        for v, wv in zip(nodes / 2, weights / 2):
            share += wu * wv * spread(d + u * np.cos(a) - v * np.sin(a))
    return edge["darkDn"] + (edge["brightDn"] - edge["darkDn"]) * share


def mtf(edge, f):
    f = np.asarray(f, float)
    a = np.radians(edge["angleDeg"])
    z = np.maximum(2 * np.pi * edge["discRadiusPx"] * f, 1e-9)
    return np.abs(2 * j1(z) / z * np.exp(-2 * (np.pi * edge["gaussPx"] * f) ** 2)
                  * np.sinc(f * np.cos(a)) * np.sinc(f * np.sin(a)))


def mtf50(edge):
    fine = np.arange(0, 1.0005, 0.0005)
    below = np.nonzero(mtf(edge, fine) < 0.5)[0]
    if len(below) == 0:
        return None
    return brentq(lambda f: float(mtf(edge, f)) - 0.5, fine[below[0] - 1], fine[below[0]])


def draw(rng, i):
    bits = 16 if i % 4 == 3 else 8
    full = 2 ** bits - 1
    turned = bool(rng.integers(2))
    edge = {
        "bits": bits,
        "widthPx": int(rng.integers(80, 221)),
        "heightPx": int(rng.integers(80, 221)),
        "angleDeg": round(float(rng.uniform(2, 14) * rng.choice([-1, 1])), 4),
        "discRadiusPx": round(float(rng.uniform(0, 2.5)), 4),
        "gaussPx": round(float(rng.uniform(0.2, 1.2)), 4),
        "offsetPx": round(float(rng.uniform(-6, 6)), 3),
        "darkDn": round(float(full * rng.uniform(0.05, 0.25)), 2),
        "brightDn": round(float(full * rng.uniform(0.5, 0.9)), 2),
        "fullWellE": round(float(np.exp(rng.uniform(np.log(4000), np.log(30000))))),
        "readNoiseE": round(float(rng.uniform(1, 12)), 2),
        "turned": turned,
    }
    if rng.integers(2):
        edge["darkDn"], edge["brightDn"] = edge["brightDn"], edge["darkDn"]
    return edge


def record(edge, rng):
    full = 2 ** edge["bits"] - 1
    per_e = full / edge["fullWellE"]
    electrons = rng.poisson(edge_image(edge) / per_e) + edge["readNoiseE"] * rng.standard_normal(
        (edge["heightPx"], edge["widthPx"]))
    values = np.clip(np.rint(per_e * electrons), 0, full)
    return values.T if edge["turned"] else values


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


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--count", type=int, default=200)
    arguments.add_argument("--seed", type=int, default=20261126)
    arguments.add_argument("--out", default=HERE)
    chosen = arguments.parse_args()
    os.makedirs(chosen.out, exist_ok=True)
    rng = np.random.default_rng(chosen.seed)
    lines = []
    for i in range(chosen.count):
        edge = draw(rng, i)
        name = f"edge-{i:04d}.png"
        write_png(os.path.join(chosen.out, name), record(edge, rng), edge["bits"])
        half = mtf50(edge)
        lines.append(json.dumps({"file": name, **edge, "mtf50PerPx": None if half is None else round(half, 7),
                                 "mtf": [round(float(v), 6) for v in mtf(edge, FREQUENCIES)]}))
    with open(os.path.join(chosen.out, "truth.json"), "w") as out:
        out.write('{"frequenciesPerPx": %s,\n "seed": %d,\n "edges": [\n' % (json.dumps(FREQUENCIES.tolist()), chosen.seed))
        out.write(",\n".join(lines))
        out.write("\n]}\n")


main()
