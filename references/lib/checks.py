"""Self-checks that every script runs before it writes anything."""
import numpy as np

import otf
import paraxial
from published import OTF_S, OTF_W, TUNABLE_PAIR


def near(name, got, want, tolerance):
    got, want = np.asarray(got, float), np.asarray(want, float)
    worst = float(np.max(np.abs(got - want)))
    if not worst <= tolerance:
        raise SystemExit(f"self-check failed: {name}: off by {worst:.3g}, allowed {tolerance:.3g}")
    return worst


def vergence_table():
    """The printed table of the f = 16 mm pair, by vergence and by matrix; and the inverse."""
    for power, distance, magnification in TUNABLE_PAIR:
        s = paraxial.object_distance(power, 10, 16, 16.5)
        m, matrix = paraxial.conjugate_magnification(power, 10, 16, 16.5)
        near("object distance", s, distance, 6e-4 if power == -2 else 6e-5)
        near("magnification", m, magnification, 6e-7)
        near("B = 0 in focus", matrix[0, 1], 0, 1e-8)
        near("det = 1", np.linalg.det(matrix), 1, 1e-8)
        near("inverse", paraxial.power_for_distance(s, 10, 16, 16.5), power, 1e-9)
        near("no defocus in focus", paraxial.defocus_waves(power, s, 10, 16, 16.5, 2, 525), 0, 1e-7)
        near("chief ray in focus", paraxial.chief_ray_magnification(power, s, 10, 16.5), m, 1e-9)


def defocus_table():
    """The printed OTF table by quadrature and series to 1e-5, three rows of it by FFT."""
    worst = 0.0
    for w, row in OTF_W.items():
        a = otf.by_quadrature(OTF_S, w)
        worst = max(worst, near(f"OTF quadrature, W20 = {w}", a, row, 1e-5))
        near(f"OTF series, W20 = {w}", [otf.by_series(s, w) for s in OTF_S], a, 1e-12)
        if w in (0.0, 0.75, 2.0):
            near(f"OTF by FFT, W20 = {w}", otf.by_fft(OTF_S, w), a, 1e-5)
    return worst


def run():
    vergence_table()
    return {"otfTableWorst": defocus_table()}


if __name__ == "__main__":
    print(run())
