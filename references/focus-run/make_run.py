#!/usr/bin/python3
"""A run over 25 focal powers on one photograph at one distance: 12-bit frames in 16-bit TIFF, no edges drawn in.

    /usr/bin/python3 references/focus-run/make_run.py [--check]
"""
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "lib"))
import checks
import folder
from record import grey_values, ideal_image
from scene import Photo
from station import HIDDEN, RecordedStation

WORKING_MM, COUNT, STEP_DPT, FIRST_BELOW_DPT = 330, 25, 0.03, 0.347


def main():
    worst = checks.run()
    station = RecordedStation(HERE / "station.yaml")
    scene = Photo("grass")
    best = station.best_focus(WORKING_MM)
    rows, frames = [], []
    for i in range(COUNT):
        power = round(round((best - FIRST_BELOW_DPT) / 0.005) * 0.005 + i * STEP_DPT, 3)
        name = f"run_{i + 1:02d}.tif"
        pixels = grey_values(station, ideal_image(station, scene, power, WORKING_MM), seed=[2027, i])
        rows.append({"file": name, "focalPowerDpt": power, "workingDistanceMm": WORKING_MM, "temperatureDegC": 25.0,
                     "exposureMs": station.controls["exposureMs"], "pixels": pixels})
        frames.append({"file": name, "defocusWaves": round(station.defocus(power, WORKING_MM), 5)})
    truth = {
        "convention": "actual power = powerGain * commanded + powerOffsetDpt; actual ring distance = file's * (1 + ringDistanceRelative)",
        "hidden": HIDDEN,
        "workingDistanceMm": WORKING_MM,
        "bestFocusDpt": round(best, 6),
        "predictedByFileDpt": round(station.best_focus(WORKING_MM, as_built=False), 6),
        "quarterWaveHalfWidthDpt": round(station.depth_half_width(WORKING_MM), 6),
        "workingFNumber": round(station.working_f_number(), 6),
        "frames": frames,
    }
    photograph = {"name": "grass.png", "package": "python3-skimage", "licence": "CC0"}
    folder.finish(HERE, "references/focus-run/make_run.py", rows, truth, photograph, worst)


main()
