"""Reads the MTF back from a noise-free frame whose edge position is known: a check of the renderer, not of a method."""
import numpy as np


def mtf_across_edge(image, origin_px, normal_deg, frequency_per_px, reach_px=32, along_px=50):
    """All pixels sorted by distance from the edge; the steps between neighbours are the line spread, transformed as it is.

    No bins, so no bin phase; thousands of samples at about 0.01 px, so the step width needs no correction. The result is
    in units of the image: divide by the height of the edge.
    """
    a = np.radians(normal_deg)
    y, x = np.indices(image.shape)
    dx, dy = x + 0.5 - origin_px[0], y + 0.5 - origin_px[1]
    across = dx * np.cos(a) + dy * np.sin(a)
    along = -dx * np.sin(a) + dy * np.cos(a)
    use = (np.abs(across) < reach_px) & (np.abs(along) < along_px)
    order = np.argsort(across[use])
    position, value = across[use][order], image[use][order]
    middle = (position[1:] + position[:-1]) / 2
    return np.abs(np.exp(-2j * np.pi * np.outer(frequency_per_px, middle)) @ np.diff(value))
