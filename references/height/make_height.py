#!/usr/bin/python3
"""One sweep over a tilted, curved, textured surface with a blank disc: depth known for every pixel.

    /usr/bin/python3 references/height/make_height.py [--check]

Every frame is scaled by the ray through the centre of the stop for the depth of each point, blurred by the exact OTF of
that point's defocus, integrated over the pixels, and given photon and read noise. Smooth surface: nothing hides behind
anything.
"""
import pathlib
import sys

import numpy as np
from scipy import fft

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "lib"))
import checks
import folder
import paraxial
from record import MARGIN_PX, OVERSAMPLING, _otf_grid, grey_values
from scene import Photo
from station import RecordedStation

MIDDLE_MM, COUNT, STEP_DPT = 307.0, 24, 0.022
BLANK = (-70.0, 40.0, 26.0)  # centre and radius of the disc without texture, target px
LEVEL_WAVES = 0.1


class FlatBuild(RecordedStation):
    """The station exactly as its file says: no hidden gain, offset or ring error."""

    def image_distance(self, as_built):
        return super().image_distance(False)

    def actual(self, commanded_dpt):
        return commanded_dpt

    def best_focus(self, working_mm, as_built=True):
        return super().best_focus(working_mm, as_built=False)


def depth_mm(x, y):
    """Working distance at target coordinates in px: a plane tilted both ways, and a bump."""
    return MIDDLE_MM + 0.055 * x - 0.03 * y - 7.0 * np.exp(-((x - 45) ** 2 + (y + 20) ** 2) / (2 * 38.0**2))


def scale(station, power, z):
    """Image px at this power per target px (target px: image px at the middle distance in focus)."""
    best = paraxial.power_for_distance(MIDDLE_MM + station.front, station.gap, station.f, station.image_distance(True))
    v = station.image_distance(True)
    here = paraxial.chief_ray_magnification(power, MIDDLE_MM + station.front, station.gap, v)
    assert here < 0
    # the same ray for every depth: height over distance from the stop, written out for arrays
    k = station.gap / 1000
    reduction = lambda p, s: (1 - k * p) * s + station.gap
    return reduction(best, MIDDLE_MM + station.front) / reduction(power, z + station.front)


def ideal_frame(station, photo, power):
    axis = lambda n: ((np.arange((n + 2 * MARGIN_PX) * OVERSAMPLING) + 0.5) / OVERSAMPLING - MARGIN_PX - n / 2)
    px, py = np.meshgrid(axis(station.width), axis(station.height))
    x, y = px.copy(), py.copy()
    for _ in range(4):
        r = scale(station, power, depth_mm(x, y))
        x, y = px / r, py / r
    z = depth_mm(x, y)
    fine = np.clip(photo._spline.ev(y, x), 0, 1)
    fine = np.where((x - BLANK[0]) ** 2 + (y - BLANK[1]) ** 2 < BLANK[2] ** 2, 0.42, fine)
    leaving = 1000 / station.f + paraxial.transferred(power - 1000 / (z + station.front), station.gap)
    waves = 0.5 * (leaving - 1000 / station.image_distance(True)) * (station.stop_radius / 1000) ** 2 / (station.wavelength * 1e-9)
    spectrum = fft.rfft2(fine)
    m = MARGIN_PX * OVERSAMPLING
    inner = lambda a: a[m:-m, m:-m]
    place = inner(waves) / LEVEL_WAVES
    low, high = int(np.floor(place.min())) - 1, int(np.floor(place.max())) + 2
    blurred = np.zeros(place.shape)
    for level in range(low, high + 1):
        # cubic interpolation over defocus: the weight of this level at every pixel
        d = np.abs(place - level)
        first = np.floor(place)
        t = place - first
        k = level - first
        w = np.select(
            [k == -1, k == 0, k == 1, k == 2],
            [-t * (t - 1) * (t - 2) / 6, (t + 1) * (t - 1) * (t - 2) / 2, -(t + 1) * t * (t - 2) / 2, (t + 1) * t * (t - 1) / 6], 0.0)
        if not np.any(w):
            continue
        at_level = fft.irfft2(spectrum * _otf_grid(fine.shape, station.cutoff_per_px(), level * LEVEL_WAVES), fine.shape)
        blurred += w * inner(at_level)
    pixels = blurred.reshape(station.height, OVERSAMPLING, station.width, OVERSAMPLING).mean(axis=(1, 3))
    return np.maximum(pixels, 0), waves


def main():
    worst = checks.run()
    station = FlatBuild(HERE / "station.yaml")
    photo = Photo("gravel")
    middle = station.best_focus(MIDDLE_MM)
    checks.near("no defocus at best focus", station.defocus(middle, MIDDLE_MM), 0, 1e-9)
    first = round(round((middle - STEP_DPT * (COUNT - 1) / 2) / 0.002) * 0.002, 3)
    powers = [round(first + i * STEP_DPT, 3) for i in range(COUNT)]
    rows = []
    for i, power in enumerate(powers):
        image, _ = ideal_frame(station, photo, power)
        rows.append({"file": f"s_{i + 1:02d}.png", "focalPowerDpt": power, "workingDistanceMm": MIDDLE_MM,
                     "temperatureDegC": 25.0, "exposureMs": station.controls["exposureMs"],
                     "pixels": grey_values(station, image, seed=[2029, i])})
        print(i, power, flush=True)
    axis = lambda n: np.arange(n) + 0.5 - n / 2
    grid = 8
    x, y = np.meshgrid(axis(station.width), axis(station.height))
    x, y = [a.reshape(station.height // grid, grid, station.width // grid, grid).mean(axis=(1, 3)) for a in (x, y)]
    reference = powers[COUNT // 2]
    for_pixel = lambda px, py: depth_mm(px / scale(station, reference, MIDDLE_MM), py / scale(station, reference, MIDDLE_MM))
    truth = {
        "convention": "depthMm: working distance at the middle of each cell of gridPx x gridPx pixels of the frame taken at referencePowerDpt",
        "gridPx": grid,
        "referencePowerDpt": reference,
        "depthMm": [[round(float(v), 4) for v in row] for row in for_pixel(x, y)],
        "blank": {"xPx": station.width / 2 + BLANK[0], "yPx": station.height / 2 + BLANK[1], "radiusPx": BLANK[2]},
        "plane": {"middleMm": MIDDLE_MM, "slopeXMmPerPx": 0.055, "slopeYMmPerPx": -0.03},
        "middleBestFocusDpt": round(middle, 6),
        "quarterWaveHalfWidthDpt": round(station.depth_half_width(MIDDLE_MM), 6),
    }
    photograph = {"name": "gravel.png", "package": "python3-skimage", "licence": "CC0"}
    folder.finish(HERE, "references/height/make_height.py", rows, truth, photograph, worst)


main()
