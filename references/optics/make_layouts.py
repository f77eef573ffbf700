"""Random layouts computed another way, and FFT transfer functions, for tests/optics/reference-layouts.test.ts.

No matrices: objects, pupils and apertures are imaged element by element with the thin-lens equation, and the marginal
and chief rays are traced through planes by similar triangles. The transfer functions come from the FFT autocorrelation
of a sampled, edge-weighted pupil. Run by hand:  /usr/bin/python3 references/optics/make_layouts.py   (8 s)
"""
import json
import platform
from pathlib import Path

import numpy as np

rng = np.random.default_rng(20261124)
LAYOUTS_PER_KIND = 20
WAVELENGTH_MM = 550e-6


def image_through(elements, z, direction):
    """Images a point at z through thin lenses (z_k, f_k) met in the given order, with light to +z (1) or -z (-1).

    Returns the place of the image and the lateral magnification. Real and virtual points alike.
    """
    m = 1.0
    for z_lens, f in elements:
        s = direction * (z_lens - z)  # positive: real object before the lens
        if np.isinf(f) or s == 0:  # no power, or a point in the lens: its own image
            continue
        s_image = 1.0 / (1.0 / f - 1.0 / s)
        m *= -s_image / s
        z = z_lens + direction * s_image
    return z, m


def trace(elements, y, slope, z, z_end):
    """Height and slope of a ray from (z, y) to z_end, bent at each lens (z_k, f_k) between, in order of z."""
    for z_lens, f in elements:
        y += slope * (z_lens - z)
        z = z_lens
        if not np.isinf(f):
            slope -= y / f
    return y + slope * (z_end - z), slope


def draw(kind):
    f = rng.uniform(8, 75)
    n = rng.uniform(1.4, 12)
    p = rng.uniform(0.6, 1.6)
    aperture = rng.uniform(6, 30)
    ring = None if rng.random() < 0.3 else float(rng.uniform(12, 120) * f)
    spacer = rng.uniform(0, 3)
    front = rng.uniform(0, 15)
    power = rng.uniform(-1, 6)
    groups = None
    gap = 0.0
    if kind == "at-stop":
        share = rng.uniform(0.35, 0.65)
        d1, d2 = f * rng.uniform(0.05, 0.25), f * rng.uniform(0.05, 0.25)
        f1, f2 = f / share, f / (1 - share)
        groups = dict(frontFocalLengthMm=f1, frontToStopMm=d1, stopToRearMm=d2, rearFocalLengthMm=f2)
        f = 1 / (1 / f1 + 1 / f2 - (d1 + d2) / (f1 * f2))
        p = abs((1 - d1 / f1) / (1 - d2 / f2))
    else:
        gap = float(f * rng.uniform(0.1, 0.7))
    return dict(kind=kind, f=f, n=n, p=p, aperture=aperture, ring=ring, spacer=spacer, front=front, power=power, groups=groups, gap=gap)


def system_of(d):
    """Lenses in order of z with z = 0 at the first optical plane, sensor place, stop candidates as (z, radius, lenses before)."""
    f_t = np.inf if d["power"] == 0 else 1000 / d["power"]
    v = d["f"] if d["ring"] is None else 1 / (1 / d["f"] - 1 / d["ring"])
    v += d["spacer"]
    pupil_radius = d["f"] / d["n"] / 2
    pupil_before = d["f"] * (1 - 1 / d["p"])
    if d["kind"] == "object-side":
        lenses = [(0.0, f_t), (d["gap"], d["f"])]
        return lenses, d["gap"] + v, (d["gap"] - pupil_before, pupil_radius, 1), (0.0, d["aperture"] / 2, 1)
    if d["kind"] == "image-side":
        lenses = [(0.0, d["f"]), (d["gap"], f_t)]
        return lenses, v, (-pupil_before, pupil_radius, 0), (d["gap"], d["aperture"] / 2, 2)
    g = d["groups"]
    f1, d1, d2, f2 = g["frontFocalLengthMm"], g["frontToStopMm"], g["stopToRearMm"], g["rearFocalLengthMm"]
    # Front principal plane lies f·(d1+d2)/f2 behind the front group; rear one f·(d1+d2)/f1 before the rear group.
    front_group = -d["f"] * (d1 + d2) / f2
    z1, zs, z2 = front_group, front_group + d1, front_group + d1 + d2
    rear_principal = z2 - d["f"] * (d1 + d2) / f1
    stop_radius = pupil_radius * abs(1 - d1 / f1)
    lenses = [(z1, f1), (zs, f_t), (z2, f2)]
    return lenses, rear_principal + v, (zs, stop_radius, 2), (zs, d["aperture"] / 2, 2)


def compute(d):
    lenses, sensor, fixed, tunable = system_of(d)
    z_object, m_back = image_through(lenses[::-1], sensor, -1)
    distance = -z_object
    if not 20 + d["front"] < distance < 5000:
        return None
    m = 1 / m_back
    candidates = []
    for name, (z, radius, before) in (("fixed-lens", fixed), ("tunable-lens", tunable)):
        # The aperture lies in the space behind `before` lenses: image it out to the object and to the sensor.
        z_in, m_in = image_through(lenses[:before][::-1], z, -1)
        z_out, m_out = image_through(lenses[before:], z, 1)
        candidates.append(
            dict(
                name=name,
                entrance=(z_in, 2 * radius * abs(m_in)),
                exit=(z_out, 2 * radius * abs(m_out)),
                n=abs(sensor - z_out) / (2 * radius * abs(m_out)),
            )
        )
    stop = max(candidates, key=lambda c: c["n"])
    z_ep, d_ep = stop["entrance"]
    s0 = z_ep - z_object

    def chief(z):
        """Where the ray from height 1 at z through the middle of the entrance pupil lands on the sensor."""
        return trace(lenses, 1.0, -1.0 / (z_ep - z), z, sensor)[0]

    def blur_um(z):
        """Diameter of the blur on the sensor of an axial point at z, from its two marginal rays."""
        return 2000 * abs(trace(lenses, 0.0, d_ep / 2 / (z_ep - z), z, sensor)[0])

    near, far = -z_object - 0.02 * distance, -z_object + 0.03 * distance
    off = dict(distanceMm=far, magnification=chief(-far), blurUm=blur_um(-far))
    return dict(
        workingDistanceMm=distance - d["front"],
        magnification=m,
        limitingStop=stop["name"],
        entrancePupilDiameterMm=d_ep,
        entrancePupilPositionMm=z_ep + d["front"],
        exitPupilDiameterMm=stop["exit"][1],
        exitPupilPositionMm=sensor - stop["exit"][0],
        workingFNumber=stop["n"],
        tunableBeamDiameterMm=2 * abs(beam_at(lenses, d, z_object, d_ep, z_ep)),
        off=[
            dict(
                workingDistanceMm=x - d["front"],
                magnification=chief(-x),
                blurUm=blur_um(-x),
                defocusWaves=(d_ep / 2) ** 2 * (1 / (z_ep + x) - 1 / s0) / 2 / WAVELENGTH_MM,
            )
            for x in (near, far)
        ],
    )


def beam_at(lenses, d, z_object, d_ep, z_ep):
    z_tunable = {"object-side": 0.0, "image-side": d["gap"]}.get(d["kind"], lenses[1][0])
    before = [lens for lens in lenses if lens[0] < z_tunable]
    return trace(before, 0.0, d_ep / 2 / (z_ep - z_object), z_object, z_tunable)[0]


def layouts():
    rows = []
    for kind in ("object-side", "at-stop", "image-side"):
        found = 0
        while found < LAYOUTS_PER_KIND:
            d = draw(kind)
            result = compute(d)
            if result is None:
                continue
            found += 1
            lens = dict(focalLengthMm=d["f"], fNumber=d["n"], pupilMagnification=d["p"])
            if d["groups"]:
                lens["groups"] = d["groups"]
            model = dict(
                fixedLens=lens,
                tunableLensAt=kind,
                clearApertureMm=d["aperture"],
                gapMm=d["gap"],
                ringDistanceMm=d["ring"],
                spacerMm=d["spacer"],
                frontOffsetMm=d["front"],
            )
            rows.append(dict(model=model, focalPowerDpt=d["power"], expected=result))
    return rows


def pupil_mask(size, radius, oversample=9):
    """Share of each sample inside the circle."""
    axis = np.arange(size) - size // 2
    x, y = np.meshgrid(axis, axis)
    r = np.hypot(x, y)
    mask = (r < radius).astype(float)
    edge = np.argwhere(np.abs(r - radius) < 1)
    sub = (np.arange(oversample) - (oversample - 1) / 2) / oversample
    for iy, ix in edge:
        rr = np.hypot(axis[ix] + sub[None, :], axis[iy] + sub[:, None])
        mask[iy, ix] = (rr < radius).mean()
    return mask, r / radius


def otfs():
    size, radius = 2048, 500
    mask, rho = pupil_mask(size, radius)
    frequencies = [0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9]
    rows = []
    for w20, w040 in [(0, 0), (0.5, 0), (2, 0), (0, 0.5), (-0.5, 0.5), (0.7, 0.4), (-1.2, 0.8), (1.5, -1), (3, 1)]:
        pupil = mask * np.exp(2j * np.pi * (w20 * rho**2 + w040 * rho**4))
        spectrum = np.fft.fft2(pupil)
        correlation = np.fft.ifft2(np.abs(spectrum) ** 2)[0]
        otf = [float((correlation[round(2 * s * radius)] / mask.sum()).real) for s in frequencies]
        rows.append(dict(defocusWaves=w20, sphericalWaves=w040, otf=otf))
    return dict(normalisedFrequency=frequencies, rows=rows)


def rounded(value):
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(v) for v in value]
    if isinstance(value, (float, np.floating)):
        return float(f"{value:.12g}")
    return value


if __name__ == "__main__":
    made_with = dict(python=platform.python_version(), numpy=np.__version__, seed=20261124)
    out = dict(source="references/optics/make_layouts.py", madeWith=made_with, layouts=layouts(), otf=otfs())
    path = Path(__file__).with_name("layouts.json")
    rows = ",\n".join("  " + json.dumps(rounded(r)) for r in out["layouts"])
    head = {k: rounded(v) for k, v in out.items() if k != "layouts"}
    text = json.dumps(head, indent=1)[:-2] + ',\n "layouts": [\n' + rows + "\n ]\n}\n"
    json.loads(text)
    path.write_text(text)
    print(f"{len(out['layouts'])} layouts, {len(out['otf']['rows'])} transfer functions -> {path.name}")
