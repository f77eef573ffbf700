#!/usr/bin/python3
"""Slanted edges with known MTF, as PNG files, and truth.json beside them.

Made with Debian's python3-numpy 1.24.2 and python3-scipy 1.10.1:  /usr/bin/python3 make_edges.py
Everything is computed here: no file is taken from elsewhere. Licence: as the project.

An edge is a step convolved with a line spread function and with the pixel's square, then sampled. The pixel integral is
done in space: with G'' = ESF, the mean over a unit square whose normal makes the angle a with the rows is
[G(d+p+q) - G(d+p-q) - G(d-p+q) + G(d-p-q)] / (4pq),  p = cos(a)/2, q = sin(a)/2.
The MTF is the modulus of the optical transfer function along the normal times sinc(f cos a) sinc(f sin a).
"""
import json, os, struct, zlib
import numpy as np
from scipy.special import j1

HERE = os.path.dirname(os.path.abspath(__file__))
rng = np.random.default_rng(20261124)


def disc_gauss(radius, sigma):
    def otf(f):
        z = 2 * np.pi * radius * f
        disc = np.where(z < 1e-9, 1.0, 2 * j1(np.maximum(z, 1e-9)) / np.maximum(z, 1e-9))
        return disc * np.exp(-2 * (np.pi * sigma * f) ** 2)
    return otf


def defocused_lens(cutoff, w20):
    """Circular pupil with defocus (Hopkins 1955), by quadrature; cutoff in cycles per pixel."""
    x, w = np.polynomial.legendre.leggauss(400)

    def otf(f):
        out = np.zeros_like(f)
        for i, s in enumerate(f / cutoff):
            if s >= 1:
                continue
            a = np.arcsin(s)
            t = a + (np.pi / 2 - a) * (x + 1) / 2
            out[i] = 4 / np.pi * (np.pi / 2 - a) / 2 * np.sum(
                w * np.cos(8 * np.pi * w20 * s * (np.sin(t) - s)) * np.cos(t) ** 2)
        return out
    return otf


def sharpened(otf, amount, sigma):
    """Unsharp mask in the continuous image: 1 + amount (1 - Gauss)."""
    return lambda f: otf(f) * (1 + amount * (1 - np.exp(-2 * (np.pi * sigma * f) ** 2)))


def skewed(otf, decay):
    """A one-sided exponential tail, as a comatic lens leaves; complex transfer function, mean removed."""
    return lambda f: otf(f) * np.exp(2j * np.pi * f * decay) / (1 + 2j * np.pi * f * decay)


def twice_integrated(otf, reach, step):
    """G on a grid, from the inverse transform of the otf over the period."""
    n = 1 << int(np.ceil(np.log2(2 * reach / step)))
    f = np.fft.rfftfreq(n, step)
    lsf = np.fft.irfft(otf(f).astype(complex), n) / step
    lsf = np.roll(lsf, n // 2)
    d = (np.arange(n) - n // 2) * step
    esf = np.concatenate([[0], np.cumsum((lsf[1:] + lsf[:-1]) / 2) * step])
    esf /= esf[-1]
    once = np.concatenate([[0], np.cumsum((esf[1:] + esf[:-1]) / 2) * step])
    twice = np.concatenate([[0], np.cumsum((once[1:] + once[:-1]) / 2) * step])
    return d, twice


def edge(otf, width, height, angle_deg, dark, bright, offset, bow=0.0):
    a = np.radians(angle_deg)
    p, q = np.cos(a) / 2, abs(np.sin(a)) / 2
    d_grid, g_grid = twice_integrated(otf, 512, 1 / 128)
    x = np.arange(width) - (width - 1) / 2 - offset
    y = np.arange(height) - (height - 1) / 2
    bend = bow * (1 - (2 * y / (height - 1)) ** 2)
    d = (x[None, :] - bend[:, None]) * np.cos(a) - y[:, None] * np.sin(a)

    def g(at):
        return np.interp(at, d_grid, g_grid)
    share = (g(d + p + q) - g(d + p - q) - g(d - p + q) + g(d - p - q)) / (4 * p * q)
    return dark + (bright - dark) * share


def write_png(path, values, bits):
    height, width = values.shape
    raw = values.astype('>u2' if bits == 16 else 'u1').tobytes()
    line = width * (bits // 8)
    rows = b''.join(b'\x00' + raw[i * line:(i + 1) * line] for i in range(height))

    def chunk(kind, content):
        return struct.pack('>I', len(content)) + kind + content + struct.pack('>I', zlib.crc32(kind + content))
    with open(path, 'wb') as out:
        out.write(b'\x89PNG\r\n\x1a\n' + chunk(b'IHDR', struct.pack('>IIBBBBB', width, height, bits, 0, 0, 0, 0))
                  + chunk(b'IDAT', zlib.compress(rows, 9)) + chunk(b'IEND', b''))


def kinds():
    u = rng.uniform
    for _ in range(14):
        yield 'disc-gauss', disc_gauss(u(0, 2.5), u(0.25, 1.1)), 0.0
    for _ in range(3):
        yield 'disc-gauss-wide', disc_gauss(u(4, 9), u(0.4, 2)), 0.0
    for _ in range(9):
        yield 'defocused-lens', defocused_lens(u(0.5, 1.6), u(0, 1.2)), 0.0
    for _ in range(4):
        yield 'sharpened', sharpened(disc_gauss(u(0.2, 1), u(0.4, 0.8)), u(0.3, 0.8), u(0.7, 1.2)), 0.0
    for _ in range(4):
        yield 'skewed', skewed(disc_gauss(u(0.2, 1), u(0.4, 0.8)), u(0.3, 0.9)), 0.0
    for _ in range(4):
        yield 'bowed', disc_gauss(u(0, 1.5), u(0.3, 0.9)), u(0.4, 1.5)


def main():
    frequencies = np.round(np.arange(1, 51) / 100, 2)
    truth = []
    for i, (kind, otf, bow) in enumerate(kinds()):
        bits = 8 if i % 2 == 0 else 16
        full = 2 ** bits - 1
        wide = kind == 'disc-gauss-wide'
        width, height = (rng.integers(120, 180, 2) if wide else rng.integers(80, 150, 2)).tolist()
        angle = float(rng.uniform(2, 14)) * (1 if i % 3 else -1)
        dark, bright = full * rng.uniform(0.1, 0.25), full * rng.uniform(0.5, 0.8)
        full_well, read = rng.uniform(6000, 20000), rng.uniform(2, 8)
        if i % 4 == 3:
            dark, bright = bright, dark
        grey = edge(otf, width, height, angle, dark, bright, rng.uniform(-3, 3), bow)
        per_e = full / full_well
        noisy = grey + per_e * np.sqrt(grey / per_e + read ** 2) * rng.standard_normal(grey.shape)
        values = np.clip(np.rint(noisy), 0, full)
        if i % 5 == 2:
            values = values.T
        name = f'edge-{i:02d}-{kind}.png'
        write_png(os.path.join(HERE, name), values, bits)
        a = np.radians(angle)
        # A bowed edge has its own slope in every row; the pixel's share of it is taken at the chord.
        mtf = np.abs(otf(frequencies)) * np.sinc(frequencies * np.cos(a)) * np.abs(np.sinc(frequencies * np.sin(a)))
        truth.append({'file': name, 'kind': kind, 'angleDeg': round(angle, 5), 'bowPx': round(bow, 4),
                      'mtf': [round(float(v), 6) for v in mtf]})
    with open(os.path.join(HERE, 'truth.json'), 'w') as out:
        out.write('{"frequenciesPerPx": %s,\n "edges": [\n' % json.dumps(frequencies.tolist()))
        out.write(',\n'.join('  ' + json.dumps(entry) for entry in truth))
        out.write('\n]}\n')


main()
