#!/usr/bin/python3
"""Frames of a station with an object-side tunable lens, six target distances, fifteen focal powers each.

    /usr/bin/python3 references/recorded-frames/make_frames.py [--check]

Writes the PNG frames, frames.csv, truth.json and manifest.json; --check computes all and compares, writing nothing.
"""
import pathlib
import sys

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "lib"))
import checks
import folder
from edge_reading import mtf_across_edge
from record import grey_values, ideal_image
from scene import EdgePatch, Photo
from station import HIDDEN, RecordedStation

# Commanded powers around the focus, dpt: dense inside a few depths of field, wide at the ends, and one shift per
# distance so that no frame sits on best focus by construction.
STEPS = [-0.42, -0.28, -0.18, -0.12, -0.08, -0.05, -0.025, 0, 0.025, 0.05, 0.08, 0.12, 0.18, 0.28, 0.42]
SHIFTS = [0.0075, -0.011, 0.0035, -0.006, 0.0105, -0.0025]
TEMPERATURES = [25.0, 25.1, 25.0, 24.9, 25.0, 25.1]
# Patch centre and size in target pixels from the frame's centre; the normal points from dark to light.
PATCH = (128, 122)
EDGE_STEP = 0.75 - 0.12  # reflectance, light less dark
EDGES = [
    {"orientation": "near-vertical", "centre": (24, -64), "normal": 5.3, "angle": 5.3},
    {"orientation": "near-horizontal", "centre": (24, 64), "normal": 96.1, "angle": 6.1},
]
FREQUENCIES = [round(0.05 * i, 2) for i in range(11)]


def region(station, edge):
    (cx, cy), (w, h) = edge["centre"], PATCH
    return {"xPx": station.width // 2 + cx - w // 2, "yPx": station.height // 2 + cy - h // 2, "widthPx": w, "heightPx": h}


def check_renderer(station, scene, working):
    """A noise-free frame, in focus and 0.06 dpt off, gives back the OTF it was blurred with."""
    worst = 0.0
    for off in (0, 0.06):
        power = station.best_focus(working) + off
        image = ideal_image(station, scene, power, working)
        for edge in EDGES:
            origin = (station.width / 2 + edge["centre"][0], station.height / 2 + edge["centre"][1])
            read = mtf_across_edge(image, origin, edge["normal"], FREQUENCIES[1:]) / EDGE_STEP
            want = station.mtf(FREQUENCIES[1:], station.defocus(power, working), edge["angle"])
            worst = max(worst, checks.near(f"edge reading, {edge['orientation']}", read, np.abs(want), 0.001))
    return worst


def main():
    worst = checks.run()
    station = RecordedStation(HERE / "station.yaml")
    scene = Photo("gravel")
    for edge in EDGES:
        scene = EdgePatch(scene, edge["centre"], PATCH, edge["normal"])
    worst["edgeReadingWorst"] = check_renderer(station, scene, 315)
    rows, distances, frames = [], [], []
    for d, working in enumerate(station.file["commissioning"]["targetDistancesMm"]):
        best = station.best_focus(working)
        checks.near("no defocus at best focus", station.defocus(best, working), 0, 1e-9)
        distances.append({
            "workingDistanceMm": working,
            "bestFocusDpt": round(best, 6),
            "predictedByFileDpt": round(station.best_focus(working, as_built=False), 6),
            "quarterWaveHalfWidthDpt": round(station.depth_half_width(working), 6),
            "magnification": round(station.magnification(best, working), 8),
        })
        for i, step in enumerate(STEPS):
            power = round(round((best + step + SHIFTS[d]) / 0.005) * 0.005, 3)
            name = f"d{working}_{i + 1:02d}.png"
            pixels = grey_values(station, ideal_image(station, scene, power, working), seed=[2026, d, i])
            rows.append({"file": name, "focalPowerDpt": power, "workingDistanceMm": working,
                         "temperatureDegC": TEMPERATURES[d], "exposureMs": station.controls["exposureMs"], "pixels": pixels})
            frames.append({"file": name, "defocusWaves": round(station.defocus(power, working), 5),
                           "breathing": round(station.magnification(power, working) / station.magnification(best, working), 6)})
    truth = {
        "convention": "actual power = powerGain * commanded + powerOffsetDpt; actual ring distance = file's * (1 + ringDistanceRelative); "
                      "defocusWaves > 0: the lens is too strong for the target",
        "hidden": HIDDEN,
        "wavelengthNm": station.wavelength,
        "workingFNumber": round(station.working_f_number(), 6),
        "cutoffPerPx": round(station.cutoff_per_px(), 6),
        "distances": distances,
        "edges": [{"orientation": e["orientation"], "angleDeg": e["angle"], "region": region(station, e),
                   "mtfAtBestFocus": [{"frequencyPerPx": q, "value": round(float(v), 6)}
                                      for q, v in zip(FREQUENCIES, station.mtf(FREQUENCIES, 0.0, e["angle"]))]} for e in EDGES],
        "frames": frames,
    }
    photograph = {"name": "gravel.png", "package": "python3-skimage", "licence": "CC0"}
    folder.finish(HERE, "references/recorded-frames/make_frames.py", rows, truth, photograph, worst)


main()
