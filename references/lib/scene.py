"""Flat scenes in target pixels (1 = one sensor pixel at best focus), origin at the centre, x right, y down.

Reflectance is averaged over the square fine sample exactly: edges by their area inside the sample.
"""
import pathlib

import numpy as np
from PIL import Image
from scipy import interpolate

PHOTOS = pathlib.Path("/usr/lib/python3/dist-packages/skimage/data")  # Debian python3-skimage


class Photo:
    """A photograph laid over the plane, sharper than the sensor: one photo pixel is 0.75 target pixels."""

    def __init__(self, name, dark=0.08, bright=0.80):
        grey = np.asarray(Image.open(PHOTOS / f"{name}.png").convert("L"), float) / 255
        y, x = ((np.arange(n) - (n - 1) / 2) * 0.75 for n in grey.shape)
        self._spline = interpolate.RectBivariateSpline(y, x, dark + (bright - dark) * grey, kx=3, ky=3)

    def reflectance(self, x, y, box):
        return np.clip(self._spline(y, x), 0, 1)


def _half_plane(x, y, box, angle):
    """Share of each box on the far side of a line through the origin; angle = direction of the normal."""
    nx, ny = np.cos(angle), np.sin(angle)
    d = (x[None, :] * nx + y[:, None] * ny) / box
    a, b = abs(nx) / 2, abs(ny) / 2
    ramp2 = lambda v: np.maximum(v, 0) ** 2 / 2
    return (ramp2(d + a + b) - ramp2(d + a - b) - ramp2(d - a + b) + ramp2(d - a - b)) / (4 * a * b)


def _inside(v, low, high, box):
    return np.clip((v - low) / box + 0.5, 0, 1) * np.clip((high - v) / box + 0.5, 0, 1)


class EdgePatch:
    """Rectangle with one slanted edge through its centre, pasted over another scene."""

    def __init__(self, under, centre, size, normal_deg, from_reflectance=0.12, to_reflectance=0.75):
        self.under, self.centre, self.size = under, centre, size
        self.normal, self.levels = np.radians(normal_deg), (from_reflectance, to_reflectance)

    def reflectance(self, x, y, box):
        (cx, cy), (w, h) = self.centre, self.size
        cover = _inside(y, cy - h / 2, cy + h / 2, box)[:, None] * _inside(x, cx - w / 2, cx + w / 2, box)[None, :]
        low, high = self.levels
        edge = low + (high - low) * _half_plane(x - cx, y - cy, box, self.normal)
        return self.under.reflectance(x, y, box) * (1 - cover) + edge * cover
