"""Frames of a simulated camera in the linear model of EMVA 1288, for the photon-transfer fit; numpy and its own TIFF writer.

Independent of the project's code: electrons are drawn from Poisson's law, and numpy makes the photon-transfer estimate from
the same frames (weighted polyfit). Writes frames, frames.csv and truth.json beside this script.

Seed 20261126. Run: python3 make_noise.py
"""

import json
import struct
from pathlib import Path

import numpy as np

here = Path(__file__).parent
camera = {
    "gainDnPerE": 0.41,
    "readNoiseE": 5.0,
    "fullWellE": 9000.0,
    "blackLevelDn": 64.0,
    "bitDepth": 12,
    "darkCurrentEPerS": 300.0,
    "darkNonUniformityE": 3.0,
    "responseNonUniformity": 0.012,
}
width, height = 96, 80
rate_e_per_ms = 900.0
dark_ms = [0.1, 100.0]
exposures_ms = [0.5, 1, 2, 3.5, 5, 6.5, 8, 9, 9.5, 10, 10.5, 11]
rng = np.random.default_rng(20261126)
dark_pattern = camera["darkNonUniformityE"] * rng.standard_normal((height, width))
response = 1 + camera["responseNonUniformity"] * rng.standard_normal((height, width))


def frame(ms, lit):
    mean = camera["darkCurrentEPerS"] * ms / 1000 + (rate_e_per_ms * ms * response if lit else np.zeros((height, width)))
    charge = np.minimum(rng.poisson(mean), camera["fullWellE"])
    charge = charge + dark_pattern + camera["readNoiseE"] * rng.standard_normal((height, width))
    dn = np.rint(camera["blackLevelDn"] + camera["gainDnPerE"] * charge)
    return np.clip(dn, 0, 2 ** camera["bitDepth"] - 1).astype("<u2")


def write_tiff(path, pages):
    """Uncompressed little-endian 16-bit TIFF, one strip a page; MaxSampleValue tells the bit depth."""
    out = bytearray(struct.pack("<2sHI", b"II", 42, 0))
    link = 4
    for page in pages:
        start = len(out)
        out += page.tobytes()
        fields = [(256, 4, width), (257, 4, height), (258, 3, 16), (259, 3, 1), (262, 3, 1), (273, 4, start),
                  (277, 3, 1), (278, 4, height), (279, 4, page.nbytes), (281, 3, 2 ** camera["bitDepth"] - 1)]
        struct.pack_into("<I", out, link, len(out))
        out += struct.pack("<H", len(fields))
        for tag, kind, value in fields:
            out += struct.pack("<HHI", tag, kind, 1) + (struct.pack("<HH", value, 0) if kind == 3 else struct.pack("<I", value))
        link = len(out)
        out += struct.pack("<I", 0)
    path.write_bytes(bytes(out))


rows = ["file,exposureMs,light"]
levels = []
number = 0
for lit, times in ((False, dark_ms), (True, exposures_ms)):
    for ms in times:
        number += 1
        pair = [frame(ms, lit), frame(ms, lit)]
        name = f"level_{number:02d}.tif"
        write_tiff(here / name, pair)
        rows.append(f"{name},{ms},{'on' if lit else 'off'}")
        a, b = (p.astype(float) for p in pair)
        variance = 0.5 * np.mean((a - b) ** 2) - 0.5 * (a.mean() - b.mean()) ** 2
        levels.append({"exposureMs": ms, "lit": lit, "meanDn": (a.mean() + b.mean()) / 2, "varianceDn2": variance})
(here / "frames.csv").write_text("\n".join(rows) + "\n")

dark = [level for level in levels if not level["lit"]]
rise, black = np.polyfit([level["exposureMs"] for level in dark], [level["meanDn"] for level in dark], 1)
lit = [level for level in levels if level["lit"]]
largest = max(lit, key=lambda level: level["varianceDn2"])
limit = black + 0.7 * (largest["meanDn"] - black)
used = dark + [level for level in lit if level["meanDn"] <= limit]
x = np.array([level["meanDn"] for level in used])
y = np.array([level["varianceDn2"] for level in used])
(gain, intercept), covariance = np.polyfit(x, y, 1, w=1 / y, cov="unscaled")
read_noise = np.sqrt((intercept + gain * black - 1 / 12)) / gain
truth = {
    "camera": camera,
    "levels": levels,
    "numpy": {
        "version": np.__version__,
        "gainDnPerE": gain,
        "interceptDn2": intercept,
        "blackLevelDn": black,
        "darkRiseDnPerMs": rise,
        "readNoiseE": read_noise,
        "saturationDn": largest["meanDn"],
        "usedLevels": len(used),
        # Of weights 1/variance; the standard deviation of a variance is variance·√(2/pixels).
        "gainStdDnPerE": float(np.sqrt(covariance[0, 0] * 2 / (width * height))),
    },
}
(here / "truth.json").write_text(json.dumps(truth, indent=1) + "\n")
print(json.dumps(truth["numpy"], indent=1))
