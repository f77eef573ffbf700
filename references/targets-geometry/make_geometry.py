#!/usr/bin/python3
"""Dot grids, checkerboards and star targets with known geometry and known MTF, 8-bit PNG.

    /usr/bin/python3 references/targets-geometry/make_geometry.py

Target plane -> perspective -> radial distortion, drawn by supersampling, blurred by a Gaussian of known width (its MTF
times the pixel's is the truth for the stars), a gradient of light, photon-like noise. OpenCV's own corner finder and
camera calibration are run on the checkerboards and their answers stored beside the truth.
"""
import json
import pathlib
import subprocess

import cv2
import numpy as np
from PIL import Image
from scipy import ndimage

HERE = pathlib.Path(__file__).resolve().parent
SS = 6  # samples per pixel each way


def undistort(x, y, centre, k1, norm):
    """Places on the picture -> places without distortion, by fixed-point iteration of d = u (1 + k1 r^2)."""
    dx, dy = (x - centre[0]) / norm, (y - centre[1]) / norm
    ux, uy = dx.copy(), dy.copy()
    for _ in range(30):
        f = 1 + k1 * (ux * ux + uy * uy)
        ux, uy = dx / f, dy / f
    return centre[0] + ux * norm, centre[1] + uy * norm


def distort(x, y, centre, k1, norm):
    ux, uy = (x - centre[0]) / norm, (y - centre[1]) / norm
    f = 1 + k1 * (ux * ux + uy * uy)
    return centre[0] + ux * f * norm, centre[1] + uy * f * norm


def homography(scale, angle_deg, tilt, middle):
    """Target mm -> px: similarity, then the perspective row (tilt per mm)."""
    a = np.radians(angle_deg)
    h = np.array([[scale * np.cos(a), -scale * np.sin(a), 0], [scale * np.sin(a), scale * np.cos(a), 0], [tilt[0], tilt[1], 1.0]])
    return np.array([[1, 0, middle[0]], [0, 1, middle[1]], [0, 0, 1.0]]) @ h


def render(w, h, case, pattern):
    # pixel centres at whole numbers
    ax = lambda n: (np.arange(n * SS) + 0.5) / SS - 0.5
    px, py = np.meshgrid(ax(w), ax(h))
    centre, norm = case["centre"], np.hypot(w, h) / 2
    ux, uy = undistort(px, py, centre, case["k1"], norm)
    m = np.linalg.inv(case["h"])
    q = m[2, 0] * ux + m[2, 1] * uy + m[2, 2]
    x, y = (m[0, 0] * ux + m[0, 1] * uy + m[0, 2]) / q, (m[1, 0] * ux + m[1, 1] * uy + m[1, 2]) / q
    fine = pattern(x, y)
    return fine.reshape(h, SS, w, SS)


def finish(image, blur_px, rng, gradient=0.0, noise=1.2):
    """image: mean over each pixel; Gaussian blur on top, light falling across, noise, grey values."""
    h, w = image.shape
    b = ndimage.gaussian_filter(image, blur_px, mode="nearest") if blur_px > 0 else image
    light = 1 + gradient * (np.arange(w) / w - 0.5)[None, :] + 0.5 * gradient * (np.arange(h) / h - 0.5)[:, None]
    dn = 200 * b * light
    dn = dn + rng.normal(0, 1, dn.shape) * noise * np.sqrt(np.maximum(dn, 1) / 100)
    return np.clip(np.floor(dn + 0.5), 0, 255).astype(np.uint8)


def dots(pitch, radius, missing=()):
    def pattern(x, y):
        i, j = np.rint(x / pitch), np.rint(y / pitch)
        inside = (x - i * pitch) ** 2 + (y - j * pitch) ** 2 < radius**2
        for a, b in missing:
            inside &= ~((i == a) & (j == b))
        inside &= (np.abs(i) <= 60) & (np.abs(j) <= 60)
        return np.where(inside, 0.12, 0.85)
    return pattern


def checker(pitch, columns, rows):
    def pattern(x, y):
        i, j = np.floor(x / pitch + columns / 2), np.floor(y / pitch + rows / 2)
        on = (i >= 0) & (i < columns) & (j >= 0) & (j < rows)
        return np.where(on & ((i + j) % 2 == 0), 0.1, 0.85)
    return pattern


def star_case(name, w, h, centre, cycles, blur, rng, sine, radius, angle_deg=0.0):
    """Star: sine or bars round a centre; blur = (sigma tangential-independent x, y) px."""
    ax = lambda n: (np.arange(n * 8) + 0.5) / 8 - 0.5
    px, py = np.meshgrid(ax(w), ax(h))
    a = np.arctan2(py - centre[1], px - centre[0]) - np.radians(angle_deg)
    r = np.hypot(px - centre[0], py - centre[1])
    wave = np.cos(cycles * a)
    fine = np.where(r < radius, 0.45 + 0.35 * (wave if sine else np.sign(wave)), 0.8)
    fine = ndimage.gaussian_filter(fine, (blur[1] * 8, blur[0] * 8), mode="nearest")
    image = fine.reshape(h, 8, w, 8).mean(axis=(1, 3))
    Image.fromarray(finish(image, 0, rng, noise=1.0)).save(HERE / f"{name}.png", optimize=True)
    return {"file": f"{name}.png", "centrePx": list(centre), "cycles": cycles, "sine": sine, "radiusPx": radius,
            "blurSigmaXPx": blur[0], "blurSigmaYPx": blur[1],
            "mtf": "exp(-2 pi^2 (sx^2 fx^2 + sy^2 fy^2)) sinc(fx) sinc(fy)"}


def main():
    rng = np.random.Generator(np.random.PCG64(2031))
    w, h = 400, 320
    middle = (w / 2 - 3.3, h / 2 + 2.6)
    grids = []
    cases = [
        ("dots_plain", "dots", dict(scale=20.0, angle=0.0, tilt=(0, 0), k1=0.0, blur=0.8, gradient=0.0, missing=[])),
        ("dots_turned", "dots", dict(scale=17.3, angle=11.0, tilt=(0.002, -0.0015), k1=-0.04, blur=1.5, gradient=0.5, missing=[(0, 0), (2, -1), (-4, 3)])),
        ("dots_blurred", "dots", dict(scale=24.0, angle=-33.0, tilt=(0, 0), k1=0.03, blur=3.5, gradient=0.3, missing=[(1, 1)])),
        ("checker_plain", "checker", dict(scale=22.0, angle=0.0, tilt=(0, 0), k1=0.0, blur=0.8, gradient=0.0)),
        ("checker_turned", "checker", dict(scale=19.0, angle=14.0, tilt=(0.002, 0.001), k1=-0.05, blur=1.5, gradient=0.5)),
        ("checker_blurred", "checker", dict(scale=21.0, angle=-6.0, tilt=(0, 0), k1=0.04, blur=3.0, gradient=0.3)),
    ]
    for name, kind, c in cases:
        centre = (w / 2 - 0.5 + 6.0, h / 2 - 0.5 - 4.0)
        case = {"h": homography(c["scale"], c["angle"], c["tilt"], middle), "centre": centre, "k1": c["k1"]}
        pattern = dots(1.0, 0.27, c["missing"]) if kind == "dots" else checker(1.0, 11, 9)
        image = finish(render(w, h, case, pattern).mean(axis=(1, 3)), c["blur"], rng, c["gradient"])
        Image.fromarray(image).save(HERE / f"{name}.png", optimize=True)
        norm = np.hypot(w, h) / 2
        # millimetres per pixel where the picture is largest in the middle: the derivative at the frame's centre
        def place(x, y):
            v = case["h"] @ np.array([x, y, 1.0])
            return np.array(distort(v[0] / v[2], v[1] / v[2], centre, case["k1"], norm))
        inv = np.linalg.inv(case["h"])
        u = np.array(undistort(np.array([centre[0]]), np.array([centre[1]]), centre, case["k1"], norm)).ravel()
        t = inv @ np.array([u[0], u[1], 1.0]); t = t[:2] / t[2]
        e = 1e-4
        jac = np.stack([(place(t[0] + e, t[1]) - place(t[0] - e, t[1])) / (2 * e), (place(t[0], t[1] + e) - place(t[0], t[1] - e)) / (2 * e)], axis=1)
        truth = {"file": f"{name}.png", "pattern": kind, "pitchMm": 1.0, "angleDeg": c["angle"], "k1": c["k1"], "distortionCentrePx": list(centre),
                 "normPx": norm, "mmPerPxAtCentre": float(1 / np.sqrt(abs(np.linalg.det(jac)))), "blurSigmaPx": c["blur"], "missing": c.get("missing", []),
                 "points": [[i, j, *[round(float(v), 4) for v in place(i, j)]] for i in range(-12, 13) for j in range(-10, 11)
                            if kind == "dots" and -5 < place(i, j)[0] < w + 5 and -5 < place(i, j)[1] < h + 5]}
        if kind == "checker":
            corners = [(i - 5.5, j - 4.5) for j in range(1, 9) for i in range(1, 11)]
            truth["points"] = [[round(a + 5.5), round(b + 4.5), *[round(float(v), 4) for v in place(a, b)]] for a, b in corners]
            found, at = cv2.findChessboardCorners(image, (10, 8), flags=cv2.CALIB_CB_ADAPTIVE_THRESH | cv2.CALIB_CB_NORMALIZE_IMAGE)
            if found:
                refined = cv2.cornerSubPix(image, at, (5, 5), (-1, -1), (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 100, 1e-4))
                want = np.array([p[2:] for p in truth["points"]])
                got = refined.reshape(-1, 2)
                if np.hypot(*(got[0] - want[0])) > 5:
                    got = got[::-1]
                rms = float(np.sqrt(np.mean(np.sum((got - want) ** 2, axis=1)) / 2))
                target = np.array([[p[0] * 1.0, p[1] * 1.0, 0] for p in truth["points"]], np.float32)
                guess = np.array([[4000, 0, w / 2], [0, 4000, h / 2], [0, 0, 1.0]])
                error, _, dist, _, _ = cv2.calibrateCamera([target], [got.astype(np.float32)], (w, h), guess, None,
                    flags=cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_PRINCIPAL_POINT | cv2.CALIB_FIX_FOCAL_LENGTH | cv2.CALIB_FIX_ASPECT_RATIO
                    | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K2 | cv2.CALIB_FIX_K3)
                # OpenCV's k1 counts in units of the focal length: to this file's half diagonal
                truth["opencv"] = {"version": cv2.__version__, "cornerRmsPx": rms, "corners": np.round(got, 4).tolist(),
                                   "calibrateRmsPx": float(error), "k1HalfDiagonal": float(dist.ravel()[0] * (norm / 4000) ** 2)}
        grids.append(truth)
        print(name, truth.get("opencv", {}).get("cornerRmsPx"), truth.get("opencv", {}).get("k1HalfDiagonal"), c["k1"])
    stars = [
        star_case("star_sine", 320, 300, (163.4, 148.8), 36, (0.8, 0.8), rng, True, 140),
        star_case("star_bars", 320, 300, (157.2, 152.3), 36, (1.2, 1.2), rng, False, 140, 2.0),
        star_case("star_astigmatic", 320, 300, (160.3, 150.1), 36, (0.6, 1.6), rng, True, 140),
    ]
    versions = subprocess.run(["dpkg-query", "-W", "-f", "${Package}=${Version}\n", "python3-opencv", "python3-numpy", "python3-scipy", "python3-pil"],
                              capture_output=True, text=True).stdout.split()
    (HERE / "truth.json").write_text(json.dumps({"packages": versions, "grids": grids, "stars": stars}) + "\n")


main()
