#!/usr/bin/python3
"""Small tables recomputed with numpy and scipy, next to the values printed where they were published.

    /usr/bin/python3 references/tables/make_tables.py [--check]

Writes one JSON file per topic beside itself. --check computes everything and compares with the files, writing nothing.
Each computed value is compared with its printed one to half a unit of the last printed digit; a miss stops the script.
"""
import json
import pathlib
import sys

import numpy as np
from scipy import constants, optimize, special

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "lib"))
import checks
import otf
import paraxial
from published import OTF_S, OTF_W, TUNABLE_PAIR


def printed(name, value, text, slack=1.0):
    """Accept value when it rounds to the printed text (slack: units of half the last digit; 2 forgives truncation)."""
    mantissa, _, exponent = text.lower().partition("e")
    digits = len(mantissa.partition(".")[2])
    half = 0.5 * 10.0 ** (int(exponent or 0) - digits)
    checks.near(name, value, float(text), half * slack * (1 + 1e-9))
    return value


def thin_lens(name, f, do, di_text, m_text, unit_mm):
    """One conjugate pair; texts as printed, in the unit of the source."""
    di = 1 / (1 / f - 1 / do)
    m = -di / do
    printed(f"{name} image", di / unit_mm, di_text)
    printed(f"{name} magnification", m, m_text)
    return {"name": name, "focalLengthMm": f, "objectDistanceMm": do, "imageDistanceMm": di, "magnification": m,
            "published": {"imageDistance": di_text, "magnification": m_text, "unitMm": unit_mm}}


def worked_examples():
    pairs = [
        thin_lens("converging, a", 100, 500, "12.5", "-0.250", 10),
        thin_lens("converging, b (virtual)", 100, 50, "-10.0", "2.00", 10),
        thin_lens("converging, c (unit)", 100, 200, "20.0", "-1.00", 10),
        thin_lens("bulb", 500, 750, "1.50", "-2.0", 1000),
        thin_lens("slide", 100, 103, "3.43", "-33.3", 1000),
        thin_lens("camera", 50, 3000, "5.08", "-1.695e-2", 10),
        thin_lens("magnifier, 8.50 cm", 100, 85, "-56.67", "6.67", 10),
        thin_lens("magnifier, 9.50 cm", 100, 95, "-190", "20.0", 10),
        thin_lens("microscope objective", 1.5, 1.55, "4.65", "-30.0", 10),
        thin_lens("near point of an eye", 17, 250, "1.8", "-0.073", 10),
    ]
    di1 = 1 / (1 / 3.00 - 1 / 3.05)
    do2 = 200 - di1
    di2 = 1 / (1 / 20 - 1 / do2)
    m1, m2 = -di1 / 3.05, -di2 / do2
    printed("chain image 1", di1 / 10, "18.3")
    printed("chain image 2", di2 / 10, "-11.3")
    printed("chain m1", m1, "-60.0")
    # The source's 13.5 is the eyepiece's angular magnification 1 + 25 cm / f2, not the transverse -di2/do2 = 6.67.
    eyepiece = 1 + 250 / 20
    printed("eyepiece", eyepiece, "13.5")
    printed("microscope", m1 * eyepiece, "-810")
    printed("eye power", 1000 / 23 + 1000 / 64, "59", slack=1)
    far, close = -1 / 0.285, 1 / 0.235 - 1 / 0.985
    printed("spectacle far", far, "-3.51")
    printed("spectacle near", close, "3.24")
    return {
        "source": "OpenStax University Physics vol. 3, modules m58530, m58531, m58534; numbers only, recomputed",
        "conjugates": pairs,
        "twoLensChain": {"objectDistanceMm": 3.05, "focalLength1Mm": 3.0, "gapMm": 200, "focalLength2Mm": 20,
                         "imageDistance1Mm": di1, "imageDistance2Mm": di2, "magnification1": m1, "magnification2": m2,
                         "magnification": m1 * m2, "eyepieceAngularMagnification": eyepiece,
                         "microscopeAngularMagnification": m1 * eyepiece},
        "touching": {"focalLength1Mm": 23, "focalLength2Mm": 64, "focalPowerDpt": 1000 / 23 + 1000 / 64,
                     "focalLengthMm": 1 / (1 / 23 + 1 / 64)},
        "spectacle": {"vertexDistanceMm": 15, "farPointMm": 300, "farFocalPowerDpt": far, "nearPointMm": 1000,
                      "readingDistanceMm": 250, "nearFocalPowerDpt": close},
    }


def gullstrand():
    rows = []
    for p1, p2, d, texts in [
        (10, 10, 50, ("15.000", "66.6667", "33.3333", "33.3333")),
        (20, -10, 30, ("16.000", "62.5000", "25.0000", "81.2500")),
        (40, 2, 10, ("41.200", "24.2718", "14.5631", "23.7864")),
        (40, -2, 10, ("38.800", "25.7732", "15.4639", "26.2887")),
        (50, 3, 20, ("50.000", "20.0000", "0.0000", "18.8000")),
    ]:
        g = paraxial.gullstrand(p1, p2, d)
        matrix = paraxial.chain(paraxial.lens(p1), paraxial.gap(d), paraxial.lens(p2))
        checks.near("EFL by matrix", -1 / matrix[1, 0], g["efl"], 1e-9)
        checks.near("BFD by matrix", -matrix[0, 0] / matrix[1, 0], g["bfd"], 1e-9)
        for key, text in zip(("power", "efl", "bfd", "ffd"), texts):
            printed(f"Gullstrand {key}", g[key], text)
        rows.append({"focalPower1Dpt": p1, "focalPower2Dpt": p2, "gapMm": d, "focalPowerDpt": g["power"],
                     "effectiveFocalLengthMm": g["efl"], "backFocalDistanceMm": g["bfd"],
                     "frontFocalDistanceMm": g["ffd"]})
    return {"source": "Gullstrand's equation, by its formula and by 2x2 matrices", "rows": rows}


def tunable_pair():
    rows = []
    for power, _, _ in TUNABLE_PAIR:
        s = paraxial.object_distance(power, 10, 16, 16.5)
        m, matrix = paraxial.conjugate_magnification(power, 10, 16, 16.5)
        pair = paraxial.chain(paraxial.lens(power), paraxial.gap(10), paraxial.lens(62.5))
        rows.append({"focalPowerDpt": power, "objectDistanceMm": s, "magnification": m,
                     "effectiveFocalLengthMm": -1 / pair[1, 0]})
    return {"source": "vergences and 2x2 matrices, agreeing to 1e-8",
            "gapMm": 10, "focalLengthMm": 16, "imageDistanceMm": 16.5, "rows": rows}


def depth_of_field():
    rows = []
    for f, n, c, s, texts in [
        (50, 8, 0.030, 3000, ("10466.667", "2337.9052", "4185.2679", "1847.3626", "1699.2")),
        (25, 4, 0.00345, 300, ("45314.855", "298.1894", "301.8327", "3.6433", "3.6432")),
        (16, 2.8, 0.0069, 500, ("13266.518", "482.3802", "518.9558", "36.5757", "36.5269")),
        (35, 5.6, 0.005, 400, ("43785.000", "396.6905", "403.3652", "6.6748", "6.6743")),
    ]:
        d = paraxial.depth_of_field(f, n, c, s)
        for key, text in zip(("hyperfocal", "near", "far", "depth", "closeUp"), texts):
            printed(f"depth of field {key}", d[key], text)
        rows.append({"focalLengthMm": f, "fNumber": n, "blurDiscUm": c * 1000, "objectDistanceMm": s,
                     "hyperfocalDistanceMm": d["hyperfocal"], "nearLimitMm": d["near"], "farLimitMm": d["far"],
                     "depthMm": d["depth"], "magnification": d["m"], "closeUpDepthMm": d["closeUp"]})
    wave = [{"refractiveIndex": 1.51, "wavelengthNm": 780, "numericalAperture": na,
             "depthUm": printed("wave depth", 1.51 * 0.780 / na**2, text)} for na, text in ((0.20, "29.4"), (0.55, "3.89"))]
    return {"source": "exact thin-lens limits; wave depth n lambda/NA^2 with the values of Keiser, Biophotonics, ex. 8.4",
            "rows": rows, "wave": wave}


def diffraction():
    texts = {0.1: ("0.87289", "0.91727"), 0.2: ("0.74706", "0.83033"), 0.25: ("0.68504", "0.81098"),
             0.3: ("0.62384", "0.77843"), 0.4: ("0.50463", "0.64252"), 0.5: ("0.39100", "0.49784"),
             0.6: ("0.28476", "0.36256"), 0.7: ("0.18812", None), 0.75: ("0.14429", "0.18372"),
             0.8: ("0.10409", None), 0.9: ("0.03739", None)}
    mtf = lambda s: float(otf.by_quadrature(s, 0.0)[0])
    ctf = lambda s: 4 / np.pi * sum((-1) ** k * mtf((2 * k + 1) * s) / (2 * k + 1) for k in range(int(1 / s) + 1)
                                    if (2 * k + 1) * s < 1)
    rows = []
    for s, (mtf_text, ctf_text) in texts.items():
        closed = 2 / np.pi * (np.arccos(s) - s * np.sqrt(1 - s * s))
        checks.near("diffraction MTF, quadrature and closed form", mtf(s), closed, 1e-12)
        printed("diffraction MTF", closed, mtf_text)
        row = {"normalisedFrequency": s, "mtf": closed, "squareWaveContrast": ctf(s)}
        if ctf_text:
            printed("square wave", ctf(s), ctf_text)
        rows.append(row)
    inverse = [{"mtf": v, "normalisedFrequency": printed("inverse", optimize.brentq(lambda s: mtf(s) - v, 0, 1), t)}
               for v, t in ((0.5, "0.403973"), (0.3, "0.585137"), (0.2, "0.687049"), (0.1, "0.805384"))]
    zero = special.jn_zeros(1, 1)[0]
    inside = 1 - special.j0(zero) ** 2 - special.j1(zero) ** 2
    airy = lambda x: (2 * special.j1(x) / x) ** 2
    dip = 2 * airy(zero / 2)  # the other point's image is dark at each peak
    printed("Airy factor", zero / np.pi, "1.2196699")
    printed("energy inside the first ring", inside, "0.83778")
    printed("two points at the Rayleigh distance", dip, "0.73503")
    points = [{"wavelengthNm": 550, "fNumber": n, "airyRadiusUm": printed("Airy radius", 0.55 * n * zero / np.pi, a),
               "cutoffPerMm": printed("cut-off", 1000 / (0.55 * n), c)}
              for n, a, c in ((2.8, "1.8783", "649.35"), (4, "2.6833", "454.55"), (5.6, "3.7566", "324.68"),
                              (8, "5.3665", "227.27"), (16, "10.7331", "113.64"))]
    return {"source": "Bessel functions of scipy; MTF by quadrature and closed form; square wave by Coltman's series",
            "airyFactor": zero / np.pi, "energyInsideFirstDarkRing": inside, "rayleighMidToPeak": dip,
            "rows": rows, "inverse": inverse, "points": points}


def defocus():
    rows = []
    for w, texts in OTF_W.items():
        values = otf.by_quadrature(OTF_S, w)
        checks.near("OTF", values, texts, 1e-5)
        rows.append({"defocusWaves": w, "otf": values.tolist()})
    return {"source": "H. H. Hopkins, Proc. R. Soc. A 231, 91 (1955): quadrature, Bessel series and FFT of a sampled pupil",
            "normalisedFrequency": OTF_S, "rows": rows}


def camera():
    h, c = constants.h, constants.c
    eta, k, sigma_d, full = 0.65, 0.35, 2.5, 10500
    joule = h * c / 0.525e-6
    mu_p = 11.9025e-12 * 1e-3 * 1e-2 / joule
    mu_e = eta * mu_p
    sigma_q2 = 1 / 12
    dark = k * k * sigma_d**2 + sigma_q2
    snr = mu_e / np.sqrt(sigma_d**2 + sigma_q2 / k**2 + mu_e)
    least = (np.sqrt(sigma_d**2 + sigma_q2 / k**2 + 0.25) + 0.5) / eta
    out = {
        "photonsPerPixel": printed("photons", mu_p, "314.5725"),
        "electronsPerPixel": printed("electrons", mu_e, "204.4721"),
        "signalAboveDarkDn": printed("signal", k * mu_e, "71.56524"),
        "varianceDn2": printed("variance", k * k * (sigma_d**2 + mu_e) + sigma_q2, "25.89679"),
        "darkNoiseDn": printed("dark noise", np.sqrt(dark), "0.921389", 2),
        "signalToNoise": printed("signal to noise", snr, "14.06304"),
        "idealSignalToNoise": printed("ideal", np.sqrt(mu_p), "17.7362"),
        "thresholdPhotons": printed("threshold", least, "4.891697"),
        "saturationPhotons": printed("saturation", full / eta, "16153.846"),
        "dynamicRange": printed("dynamic range", full / eta / least, "3302.299"),
        "maximumSignalToNoise": printed("maximum", np.sqrt(full), "102.4695"),
    }
    return {"source": "EMVA 1288 R3.1 eq. 4 and the linear model, with the CODATA constants of scipy",
            "input": {"pixelAreaUm2": 11.9025, "wavelengthNm": 525, "irradianceUwPerCm2": 1, "exposureMs": 1,
                      "quantumEfficiency": eta, "gainDnPerE": k, "darkNoiseE": sigma_d, "fullWellE": full},
            "photonFactor": printed("photon factor", 1e-6 * 1e-12 * 1e-2 * 1e-3 / (h * c), "50.3411657"),
            **out}


def settling(z, level):
    """Last time, times the natural frequency, at which a unit step leaves the band of +-level around 1."""
    wd = np.sqrt(1 - z * z)
    error = lambda t: np.exp(-z * t) * (np.cos(wd * t) + z / wd * np.sin(wd * t))
    t = np.linspace(0, -np.log(level * wd) / z + 1, 400_001)
    last = np.nonzero(np.abs(error(t)) > level)[0][-1]
    sign = np.sign(error(t[last]))
    return optimize.brentq(lambda x: error(x) - sign * level, t[last], t[last + 1], xtol=1e-13)


def second_order():
    rows = []
    for fn, z, texts in [
        (100, 0.05, ("0.854468", "0.539238", "5.006262", "0.290778", "0.496921", "85.447", "124.563")),
        (85, 0.10, ("0.729248", "0.578286", "5.911987", "0.334415", "0.487743", "72.925", "73.343")),
        (60, 0.20, ("0.526621", "0.655042", "8.505173", "0.429079", "0.451924", "52.662", "52.156")),
        (200, 0.02, ("0.939090", "0.515706", "2.500500", "0.265953", "0.499507", "93.909", "155.662")),
    ]:
        wd = np.sqrt(1 - z * z)
        k = np.exp(-z * np.pi / wd)
        wn = 2 * np.pi * fn
        half = 1000 * np.pi / (wn * wd)
        zvd = np.array([1, 2 * k, k * k]) / (1 + k) ** 2
        envelope = -1000 * np.log(0.02 * wd) / (z * wn)
        for name, value, text in zip(("K", "ZV", "t2", "ZVD 1", "ZVD 2", "overshoot", "envelope"),
                                     (k, 1 / (1 + k), half, zvd[0], zvd[1], 100 * k, envelope), texts):
            printed(f"shaper {name}", value, text)
        rows.append({"naturalFrequencyHz": fn, "dampingRatio": z, "k": k, "zvAmplitudes": [1 / (1 + k), k / (1 + k)],
                     "halfPeriodMs": half, "zvdAmplitudes": zvd.tolist(), "overshoot": k, "envelopeSettling2PctMs": envelope})
    times = []
    for z, t2, t5 in [(0.05, "76.0094", "59.8878"), (0.1, "38.3835", "28.9680"), (0.2, "19.6020", "13.7445"),
                      (0.3, "11.2301", "10.1371"), (0.5, "8.0764", "5.2891"), (0.6, "5.9430", "5.2290"),
                      (0.7, "5.9788", "2.8998"), (0.707, "5.9629", "2.9294"), (0.8, "3.7558", "3.3854"),
                      (0.9, "4.6996", "4.0144")]:
        a, b = settling(z, 0.02), settling(z, 0.05)
        checks.near(f"settling 2 %, z = {z}", a, float(t2), 5e-4)
        checks.near(f"settling 5 %, z = {z}", b, float(t5), 5e-4)
        times.append({"dampingRatio": z, "settling2Pct": a, "settling5Pct": b})
    return {"source": "second-order step response; shapers of Singer and Seering; last crossing by root finding",
            "shapers": rows, "settlingTimesNaturalFrequency": times}


TABLES = {
    "thin-lens-examples": worked_examples,
    "gullstrand": gullstrand,
    "tunable-pair": tunable_pair,
    "depth-of-field": depth_of_field,
    "diffraction": diffraction,
    "defocus-otf": defocus,
    "camera-noise": camera,
    "second-order": second_order,
}


def rounded(value):
    """12 significant digits: more than any check needs, and the same on every machine."""
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(v) for v in value]
    if isinstance(value, (float, np.floating)):
        tidy = float(f"{float(value):.12g}")
        return 0.0 if abs(tidy) < 1e-15 else tidy
    return value


def main():
    checks.run()
    for name, make in TABLES.items():
        data = rounded(make())
        path = HERE / f"{name}.json"
        text = json.dumps(data, indent=1) + "\n"
        if "--check" not in sys.argv:
            path.write_text(text)
        elif path.read_text() != text:
            raise SystemExit(f"{path.name} differs from what the script computes")
        print(f"{path.name}: {len(text)} bytes")


main()
