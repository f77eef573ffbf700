"""OTF of the circular pupil with pure defocus, three ways. s = spatial frequency over the cut-off 1/(lambda N); W20 in waves.

A  quadrature over the overlap of the sheared pupils (H. H. Hopkins, Proc. R. Soc. A 231, 91, 1955, the integral)
B  the Bessel series of the same paper
C  autocorrelation of a sampled pupil by FFT, no formula of the paper used
"""
import numpy as np
from scipy import fft, special

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(400)


def by_quadrature(s, w20):
    s = np.atleast_1d(np.asarray(s, float))
    inside = np.clip(s, 0.0, 1.0)
    low = np.arcsin(inside)
    half = (np.pi / 2 - low) / 2
    t = low[:, None] + half[:, None] * (_NODES[None, :] + 1)
    f = np.cos(8 * np.pi * w20 * inside[:, None] * (np.sin(t) - inside[:, None])) * np.cos(t) ** 2
    value = 4 / np.pi * half * (f @ _WEIGHTS)
    return np.where(s < 1.0, value, 0.0)


def by_series(s, w20, terms=80):
    a, b = 8 * np.pi * w20 * s, np.arccos(s)
    if a == 0:
        return 2 / np.pi * (b - s * np.sqrt(1 - s * s))
    n = np.arange(1, terms)
    c = b * special.jv(1, a) + 0.5 * np.sum(
        (-1.0) ** (n + 1) * np.sin(2 * n * b) / n * (special.jv(2 * n - 1, a) - special.jv(2 * n + 1, a)))
    k = np.arange(terms)
    d = np.sum((-1.0) ** k * np.sin((2 * k + 1) * b) / (2 * k + 1) * (special.jv(2 * k, a) - special.jv(2 * k + 2, a)))
    return 4 / (np.pi * a) * (np.cos(a * s) * c - np.sin(a * s) * d)


def by_fft(s, w20, radius=500, size=2048, sub=8):
    """Lags 2 s R along x; edge samples of the pupil weighted by their area inside the circle."""
    x = np.arange(size) - size // 2
    r2 = x[:, None] ** 2.0 + x[None, :] ** 2.0
    r = np.sqrt(r2)
    mask = (r <= radius - 1).astype(float)
    rim = np.argwhere(np.abs(r - radius) < 1.0)
    u = (np.arange(sub) + 0.5) / sub - 0.5
    yy = rim[:, 0, None, None] - size // 2 + u[None, :, None]
    xx = rim[:, 1, None, None] - size // 2 + u[None, None, :]
    mask[rim[:, 0], rim[:, 1]] = (yy**2 + xx**2 <= radius**2).mean(axis=(1, 2))
    pupil = mask * np.exp(2j * np.pi * w20 * r2 / radius**2)
    auto = fft.ifft2(np.abs(fft.fft2(pupil, workers=2)) ** 2, workers=2)
    lags = np.rint(2 * np.asarray(s) * radius).astype(int)
    return auto[0, lags].real / mask.sum()
