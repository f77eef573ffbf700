"""One recorded frame: scene, scale, blur by the exact OTF, pixel aperture, photons, noise, grey values."""
import numpy as np
from scipy import constants, fft, interpolate

import otf

OVERSAMPLING = 6  # fine grid reaches beyond the optical cut-off
MARGIN_PX = 40  # scene beyond the frame, wider than any blur disc used


def _otf_grid(shape, cutoff_per_px, waves):
    fy = np.fft.fftfreq(shape[0], 1 / OVERSAMPLING)
    fx = np.fft.rfftfreq(shape[1], 1 / OVERSAMPLING)
    s = np.hypot(fy[:, None], fx[None, :]) / cutoff_per_px
    grid = np.linspace(0, 1, 2001)
    return np.where(s < 1, interpolate.CubicSpline(grid, otf.by_quadrature(grid, waves))(np.minimum(s, 1)), 0)


def ideal_image(station, scene, commanded_dpt, working_mm):
    """Mean reflectance seen by each pixel, without noise."""
    best = station.best_focus(working_mm)
    breathing = station.magnification(commanded_dpt, working_mm) / station.magnification(best, working_mm)
    axis = lambda n: ((np.arange((n + 2 * MARGIN_PX) * OVERSAMPLING) + 0.5) / OVERSAMPLING - MARGIN_PX - n / 2) / breathing
    fine = scene.reflectance(axis(station.width), axis(station.height), 1 / OVERSAMPLING / breathing)
    spectrum = fft.rfft2(fine, workers=2) * _otf_grid(fine.shape, station.cutoff_per_px(), station.defocus(commanded_dpt, working_mm))
    blurred = fft.irfft2(spectrum, fine.shape, workers=2)
    m = MARGIN_PX * OVERSAMPLING
    inner = blurred[m:-m, m:-m].reshape(station.height, OVERSAMPLING, station.width, OVERSAMPLING)
    return np.maximum(inner.mean(axis=(1, 3)), 0)


def electrons_of_white(station):
    """EMVA 1288: photons per pixel times quantum efficiency, for a white target."""
    s, light = station.sensor, station.light
    energy = constants.h * constants.c / (station.wavelength * 1e-9)
    irradiance = light["sensorIrradianceUwPerCm2"] * 1e-2
    return s["quantumEfficiency"] * irradiance * (station.pitch * 1e-6) ** 2 * station.controls["exposureMs"] * 1e-3 / energy


def grey_values(station, reflectance, seed):
    """Photon noise, read noise, gain, black level, whole grey values."""
    s, rng = station.sensor, np.random.Generator(np.random.PCG64(seed))
    e = np.minimum(rng.poisson(reflectance * electrons_of_white(station)), s["fullWellE"])
    dn = s["gainDnPerE"] * (e + rng.normal(0, s["readNoiseE"], e.shape)) + s["blackLevelDn"]
    return np.clip(np.floor(dn + 0.5), 0, 2 ** s["bitDepth"] - 1).astype(np.uint8 if s["bitDepth"] == 8 else np.uint16)
