"""Paraxial arithmetic by vergences and by 2x2 matrices. Lengths in mm, powers in dpt (1/m), light travels +z.

Written for the reference data alone; nothing here is shared with the TypeScript code. Formulas 3, 5, 6, 11, 12 and 14
of the usual textbook list (Hecht, Optics; Smith, Modern Optical Engineering).
"""
import numpy as np

MM = 1000.0


def gap(length_mm):
    """Transfer over a gap, acting on (height in mm, angle in rad)."""
    return np.array([[1.0, length_mm], [0.0, 1.0]])


def lens(power_dpt):
    """Refraction at a thin lens, same ray vector."""
    return np.array([[1.0, 0.0], [-power_dpt / MM, 1.0]])


def chain(*elements):
    """Product of the elements in the order in which light meets them."""
    total = np.eye(2)
    for element in elements:
        total = element @ total
    return total


def transferred(vergence_dpt, length_mm):
    """Vergence after a gap."""
    return vergence_dpt / (1.0 - length_mm / MM * vergence_dpt)


def gullstrand(p1_dpt, p2_dpt, gap_mm):
    d = gap_mm / MM
    p = p1_dpt + p2_dpt - d * p1_dpt * p2_dpt
    return {"power": p, "efl": MM / p, "bfd": MM * (1 - d * p1_dpt) / p, "ffd": MM * (1 - d * p2_dpt) / p}


def object_distance(power_dpt, gap_mm, focal_length_mm, image_mm):
    """Object distance before a tunable thin lens that stands gap_mm before a thin lens; sensor image_mm behind that.

    By vergences, traced backward from the sensor. Negative: a virtual object behind the lens.
    """
    leaving_fixed = MM / image_mm
    arriving_fixed = leaving_fixed - MM / focal_length_mm
    leaving_tunable = arriving_fixed / (1.0 + gap_mm / MM * arriving_fixed)
    arriving_tunable = leaving_tunable - power_dpt
    return -MM / arriving_tunable


def power_for_distance(object_mm, gap_mm, focal_length_mm, image_mm):
    """Power of the tunable lens that focuses object_mm; the inverse of object_distance."""
    arriving_fixed = MM / image_mm - MM / focal_length_mm
    return arriving_fixed / (1.0 + gap_mm / MM * arriving_fixed) + MM / object_mm


def conjugate_magnification(power_dpt, gap_mm, focal_length_mm, image_mm):
    """Magnification of the plane in focus, element A of the matrix from that plane to the sensor (there B = 0)."""
    s = object_distance(power_dpt, gap_mm, focal_length_mm, image_mm)
    m = chain(gap(s), lens(power_dpt), gap(gap_mm), lens(MM / focal_length_mm), gap(image_mm))
    return m[0, 0], m


def chief_ray_magnification(power_dpt, object_mm, gap_mm, image_mm):
    """Image height over object height along the ray through the centre of the stop, the stop standing at the fixed lens.

    Holds in focus and out of focus: where the plane at object_mm is drawn on the sensor when the power moves.
    """
    to_stop = chain(gap(object_mm), lens(power_dpt), gap(gap_mm))
    angle_per_height = -to_stop[0, 0] / to_stop[0, 1]
    angle_at_stop = to_stop[1, 0] + to_stop[1, 1] * angle_per_height
    return image_mm * angle_at_stop


def defocus_waves(power_dpt, object_mm, gap_mm, focal_length_mm, image_mm, stop_radius_mm, wavelength_nm):
    """W20 in waves at the edge of the stop: half the vergence error there times the radius squared."""
    leaving_tunable = power_dpt - MM / object_mm
    leaving_fixed = transferred(leaving_tunable, gap_mm) + MM / focal_length_mm
    error_dpt = leaving_fixed - MM / image_mm
    return 0.5 * error_dpt * (stop_radius_mm / MM) ** 2 / (wavelength_nm * 1e-9)


def depth_of_field(f_mm, f_number, c_mm, s_mm):
    h = f_mm**2 / (f_number * c_mm) + f_mm
    near = s_mm * (h - f_mm) / (h + s_mm - 2 * f_mm)
    far = s_mm * (h - f_mm) / (h - s_mm) if s_mm < h else np.inf
    m = f_mm / (s_mm - f_mm)
    return {"hyperfocal": h, "near": near, "far": far, "depth": far - near, "m": m,
            "closeUp": 2 * f_number * c_mm * (1 + m) / m**2}
