"""Defocused frames of photographs, as an outside check of the model-based focus.

The transfer function is the autocorrelation of a sampled circular pupil with a quadratic phase (FFT), not Hopkins's
integral; pixel aperture as sinc; frames are 128 px crops of 512 px photographs, so that light crosses their border.
Photographs: scikit-image's own data `camera`, `brick`, `gravel`, `grass` (CC0, see its data/README.txt).

    python3 make_frames.py        # numpy, scikit-image; writes PNGs and truth.json
"""
import json
from pathlib import Path

import numpy as np
from skimage import data, io

HERE = Path(__file__).parent
CUTOFF_PER_PX = 1.15
BLUR_PX_PER_DPT = 8.0
POWERS_DPT = [-1.5, 0.3, 1.4]
SCENES = {"camera": (0.62, 180, 140), "brick": (1.1, 200, 200), "gravel": (-0.7, 150, 220), "grass": (2.0, 190, 190)}


def transfer(waves: float, size: int) -> np.ndarray:
    """OTF on the frequencies of a size x size picture, by the autocorrelation of the pupil."""
    samples = 2048
    radius = samples / 6
    y, x = np.mgrid[0:samples, 0:samples] - samples / 2
    rho2 = (x * x + y * y) / radius**2
    pupil = np.where(rho2 <= 1, np.exp(2j * np.pi * waves * rho2), 0)
    spread = np.abs(np.fft.fft2(np.fft.ifftshift(pupil))) ** 2
    otf = np.fft.fftshift(np.real(np.fft.ifft2(spread)))
    profile = otf[samples // 2, samples // 2 :] / otf[samples // 2, samples // 2]
    fx = np.fft.fftfreq(size)[None, :]
    fy = np.fft.fftfreq(size)[:, None]
    frequency = np.hypot(fx, fy)
    lag = frequency / CUTOFF_PER_PX * 2 * radius
    return np.interp(lag, np.arange(profile.size), profile) * np.sinc(fx) * np.sinc(fy)


def main() -> None:
    random = np.random.default_rng(20)
    truth = {"cutoffPerPx": CUTOFF_PER_PX, "blurRadiusPerDptPx": BLUR_PX_PER_DPT, "powersDpt": POWERS_DPT, "scenes": []}
    for name, (best, row, column) in SCENES.items():
        photograph = getattr(data, name)().astype(float)
        spectrum = np.fft.fft2(photograph)
        files = []
        for i, power in enumerate(POWERS_DPT):
            waves = BLUR_PX_PER_DPT * (power - best) * CUTOFF_PER_PX / 4
            picture = np.real(np.fft.ifft2(spectrum * transfer(waves, photograph.shape[0])))
            crop = 0.8 * picture[row : row + 128, column : column + 128] + 8
            noisy = crop + np.sqrt(0.6 + 0.02 * crop.clip(0)) * random.normal(size=crop.shape)
            file = f"{name}_{i + 1}.png"
            io.imsave(HERE / file, np.clip(np.round(noisy), 0, 255).astype(np.uint8), check_contrast=False)
            files.append(file)
        truth["scenes"].append({"name": name, "bestFocusDpt": best, "files": files})
    (HERE / "truth.json").write_text(json.dumps(truth, indent=1) + "\n")


if __name__ == "__main__":
    main()
