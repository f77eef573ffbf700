"""200 random layouts by ABCD matrices, Monte Carlo rays and FFT, for tests/optics/reference-random-layouts.test.ts.

Paraxial: numpy 2 x 2 matrices from the sensor back to the object. Illumination: rays thrown from an image point, jittered over
a square of slopes, traced to both apertures and counted; nothing is known of circles that overlap. Transfer functions:
FFT autocorrelation of a sampled, edge-weighted pupil with defocus and coma, in the shape the corner sees.
Drawing of layouts and their geometry: references/optics/make_layouts.py (another seed).
Run by hand:  /usr/bin/python3 references/layouts/make_random_layouts.py   (about 2 min)
"""
import json
import platform
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "optics"))
import make_layouts as geometry  # noqa: E402

SEED = 20261125
geometry.rng = rng = np.random.default_rng(SEED)
LAYOUTS = 200
RAYS_ACROSS = 1200
SIZE, RADIUS = 1024, 250  # samples of the pupil grid, and of the pupil's radius
LAGS = (50, 125, 250)  # s = 0.1, 0.25, 0.5


def gap(d):
    return np.array([[1.0, d], [0.0, 1.0]])


def lens(f):
    return np.array([[1.0, 0.0], [0.0 if np.isinf(f) else -1.0 / f, 1.0]])


def matrix(lenses, z_from, z_to):
    """From z_from to z_to through every lens of the list, in order, forwards."""
    m, z = np.eye(2), z_from
    for z_lens, f in lenses:
        m = lens(f) @ gap(z_lens - z) @ m
        z = z_lens
    return gap(z_to - z) @ m


def paraxial(d, lenses, sensor, fixed, tunable):
    total = matrix(lenses, 0.0, sensor)
    x = -total[0, 1] / total[0, 0]
    apertures = []
    for name, (z, radius, before) in (("fixed-lens", fixed), ("tunable-lens", tunable)):
        into, out = matrix(lenses[:before], 0.0, z), matrix(lenses[before:], z, sensor)
        apertures.append(dict(name=name, radius=radius, into=into, out=out, n=abs(out[0, 1]) / (2 * radius)))
    stop = max(apertures, key=lambda a: a["n"])
    into, out = stop["into"], stop["out"]
    m = total[0, 0]
    return apertures, dict(
        workingDistanceMm=x - d["front"],
        magnification=m,
        limitingStop=stop["name"],
        workingFNumber=stop["n"],
        objectNumericalAperture=abs(m) / (2 * stop["n"]),
        entrancePupilDiameterMm=2 * stop["radius"] / abs(into[0, 0]),
        entrancePupilPositionMm=d["front"] + into[0, 1] / into[0, 0],
        exitPupilDiameterMm=2 * stop["radius"] / abs(out[1, 1]),
        exitPupilPositionMm=out[0, 1] / out[1, 1],
    )


def thrown(apertures, h, box):
    """Solid angles of the rays from (h, 0) on the sensor that pass both apertures, by count and by true projection.

    `box`: centre and half side, in slopes, of the square that the rays are thrown over.
    """
    grid = (np.arange(RAYS_ACROSS)[:, None] + rng.random((RAYS_ACROSS, RAYS_ACROSS))) / RAYS_ACROSS * 2 - 1
    u = box[0] + box[1] * grid.T
    v = box[1] * ((np.arange(RAYS_ACROSS)[:, None] + rng.random((RAYS_ACROSS, RAYS_ACROSS))) / RAYS_ACROSS * 2 - 1)
    passed = np.ones(u.shape, bool)
    for a in apertures:
        back = np.linalg.inv(a["out"])
        passed &= (back[0, 0] * h + back[0, 1] * u) ** 2 + (back[0, 1] * v) ** 2 <= a["radius"] ** 2
    cell = (2 * box[1] / RAYS_ACROSS) ** 2
    true = (1 + u[passed] ** 2 + v[passed] ** 2) ** -2.0
    return passed.sum() * cell, true.sum() * cell


def slopes_of(a, h):
    """Middle and radius of an aperture in slopes at the sensor, from its edge rays."""
    back = np.linalg.inv(a["out"])
    edges = [(side * a["radius"] - back[0, 0] * h) / back[0, 1] for side in (-1, 1)]
    return sum(edges) / 2, abs(edges[1] - edges[0]) / 2


def illumination(apertures, stop_name, h):
    stop = next(a for a in apertures if a["name"] == stop_name)
    centre, radius = slopes_of(stop, h)
    counted, true = thrown(apertures, h, (centre, radius))
    counted0, true0 = thrown(apertures, 0.0, (slopes_of(stop, 0.0)[0], radius))
    return dict(
        imageHeightMm=h,
        relativeIllumination=counted / counted0 * np.cos(np.arctan(centre)) ** 4,
        everyRay=true / true0,
    )


def mask_of(discs, oversample=9):
    """Share of each sample inside every disc (x, y, r), in radii of the pupil."""
    axis = (np.arange(SIZE) - SIZE // 2) / RADIUS
    x, y = np.meshgrid(axis, axis)
    mask = np.ones(x.shape)
    edge = np.zeros(x.shape, bool)
    for cx, cy, r in discs:
        distance = np.hypot(x - cx, y - cy)
        mask *= distance < r
        edge |= np.abs(distance - r) < 1.0 / RADIUS
    iy, ix = np.nonzero(edge)
    sub = (np.arange(oversample) - (oversample - 1) / 2) / oversample / RADIUS
    sx = axis[ix][:, None, None] + sub[None, None, :]
    sy = axis[iy][:, None, None] + sub[None, :, None]
    inside = np.ones(np.broadcast_shapes(sx.shape, sy.shape), bool)
    for cx, cy, r in discs:
        inside &= np.hypot(sx - cx, sy - cy) < r
    mask[iy, ix] = inside.mean(axis=(1, 2))
    return mask, x, y


def transfer(discs, w20, w31, azimuth):
    mask, x, y = mask_of(discs)
    r2 = x * x + y * y
    wave = w20 * r2 + w31 * r2 * (x * np.cos(azimuth) + y * np.sin(azimuth))
    correlation = np.fft.ifft2(np.abs(np.fft.fft2(mask * np.exp(2j * np.pi * wave))) ** 2) / mask.sum()
    # Correlation at lag +k is the sum of P(x + k)·conj P(x): the overlap integral with the pupil sheared by s to both sides.
    return (
        [correlation[0, k] for k in LAGS],  # along x
        [correlation[k, 0] for k in LAGS],  # along y
    )


def parts(values):
    return [[float(v.real), float(v.imag)] for v in values]


def layout():
    while True:
        d = geometry.draw(("object-side", "at-stop", "image-side")[rng.integers(3)])
        # Half of them with an aperture near the beam's width, so that the corner is cut.
        if rng.random() < 0.5:
            d["aperture"] = d["f"] / d["n"] * rng.uniform(0.8, 1.6)
        lenses, sensor, fixed, tunable = geometry.system_of(d)
        apertures, expected = paraxial(d, lenses, sensor, fixed, tunable)
        x = expected["workingDistanceMm"]
        if 20 < x < 5000:
            break
    h = float(rng.uniform(0.05, 0.3) * d["f"])
    expected["illumination"] = illumination(apertures, expected["limitingStop"], h)
    stop = next(a for a in apertures if a["name"] == expected["limitingStop"])
    other = next(a for a in apertures if a is not stop)
    (c1, r1), (c2, r2) = slopes_of(stop, h), slopes_of(other, h)
    offset, ratio = (c2 - c1) / r1, r2 / r1
    w20, w31, azimuth = float(rng.uniform(-1.2, 1.2)), float(rng.uniform(-1, 1)), float(rng.uniform(0, 2 * np.pi))
    axis, _ = transfer([(0, 0, 1)], w20, w31, azimuth)
    expected["axisOtf"] = dict(defocusWaves=w20, comaWaves=w31, comaAzimuthRad=azimuth, otf=parts(axis))
    if abs(offset) < 0.98 * (1 + ratio):
        # Along x the lines lie across the radius; W20 of the two directions is the caller's business here.
        tangential, sagittal = transfer([(0, 0, 1), (offset, 0, ratio)], w20, 0.0, 0.0)
        expected["cornerOtf"] = dict(
            defocusWaves=w20, chiefSlope=c1, tangential=parts(tangential), sagittal=parts(sagittal)
        )
    fixed_lens = dict(focalLengthMm=d["f"], fNumber=d["n"], pupilMagnification=d["p"])
    if d["groups"]:
        fixed_lens["groups"] = d["groups"]
    model = dict(
        fixedLens=fixed_lens,
        tunableLensAt=d["kind"],
        clearApertureMm=d["aperture"],
        gapMm=d["gap"],
        ringDistanceMm=d["ring"],
        spacerMm=d["spacer"],
        frontOffsetMm=d["front"],
    )
    return dict(model=model, focalPowerDpt=d["power"], expected=expected)


def rounded(value):
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(v) for v in value]
    if isinstance(value, (float, np.floating)):
        return float(f"{value:.10g}")
    return value


def shortened(row):
    """Counted and transformed values have no more than six digits to give."""
    six = lambda pairs: [[round(a, 6), round(b, 6)] for a, b in pairs]  # noqa: E731
    expected = row["expected"]
    expected["axisOtf"]["otf"] = six(expected["axisOtf"]["otf"])
    if "cornerOtf" in expected:
        for key in ("tangential", "sagittal"):
            expected["cornerOtf"][key] = six(expected["cornerOtf"][key])
    for key in ("relativeIllumination", "everyRay"):
        expected["illumination"][key] = round(float(expected["illumination"][key]), 6)
    return row


if __name__ == "__main__":
    rows = [rounded(shortened(layout())) for _ in range(LAYOUTS)]
    head = dict(
        source="references/layouts/make_random_layouts.py",
        madeWith=dict(python=platform.python_version(), numpy=np.__version__, seed=SEED, raysPerPoint=RAYS_ACROSS**2),
        normalisedFrequency=[k / (2 * RADIUS) for k in LAGS],
    )
    body = ",\n".join("  " + json.dumps(row) for row in rows)
    text = json.dumps(head, indent=1)[:-2] + ',\n "layouts": [\n' + body + "\n ]\n}\n"
    json.loads(text)
    path = Path(__file__).with_name("random-layouts.json")
    path.write_text(text)
    cut = sum("cornerOtf" in r["expected"] for r in rows)
    print(f"{len(rows)} layouts, {cut} with a corner that gets light -> {path.name}, {len(text) / 1000:.0f} kB")
