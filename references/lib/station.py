"""The recorded station: nominal numbers from its station file, and the errors it was really built with."""
import numpy as np
import yaml

import otf
import paraxial

# What the maker of the frames knows and the tool has to find. Actual power = gain * commanded + offset.
HIDDEN = {"powerGain": 1.03, "powerOffsetDpt": 0.08, "ringDistanceRelative": 0.012}


class RecordedStation:
    """Tunable thin lens before a thin fixed lens that carries the stop. Distances from the mechanical front in mm."""

    def __init__(self, path):
        self.file = yaml.safe_load(path.read_text())
        parts, layout = self.file["parts"], self.file["layout"]
        self.sensor, self.light, self.controls = parts["sensor"], parts["light"], self.file["controls"]
        self.f, self.gap, self.front = parts["fixedLens"]["focalLengthMm"], layout["gapMm"], parts["tunableLens"]["frontToPlaneMm"]
        self.spacer = parts["spacer"]["lengthMm"]
        self.stop_radius = self.f / layout["fNumber"] / 2
        self.ring = layout["ringDistanceMm"]
        self.pitch, self.wavelength = self.sensor["pixelPitchUm"], self.light["wavelengthNm"]
        self.width, self.height = self.sensor["widthPx"], self.sensor["heightPx"]

    def image_distance(self, as_built):
        ring = self.ring * (1 + HIDDEN["ringDistanceRelative"] * as_built)
        return 1 / (1 / self.f - 1 / ring) + self.spacer

    def actual(self, commanded_dpt):
        return HIDDEN["powerGain"] * commanded_dpt + HIDDEN["powerOffsetDpt"]

    def best_focus(self, working_mm, as_built=True):
        """Commanded power that puts the plane in focus: as built, or as the station file alone would predict."""
        power = paraxial.power_for_distance(working_mm + self.front, self.gap, self.f, self.image_distance(as_built))
        return (power - HIDDEN["powerOffsetDpt"]) / HIDDEN["powerGain"] if as_built else power

    def defocus(self, commanded_dpt, working_mm):
        return paraxial.defocus_waves(self.actual(commanded_dpt), working_mm + self.front, self.gap, self.f,
                                      self.image_distance(True), self.stop_radius, self.wavelength)

    def magnification(self, commanded_dpt, working_mm):
        return paraxial.chief_ray_magnification(self.actual(commanded_dpt), working_mm + self.front, self.gap,
                                                self.image_distance(True))

    def working_f_number(self):
        """From the marginal cone behind the stop, which does not change with the power."""
        return self.image_distance(True) / (2 * self.stop_radius)

    def cutoff_per_px(self):
        return self.pitch / 1000 / (self.wavelength * 1e-6 * self.working_f_number())

    def depth_half_width(self, working_mm, waves=0.25):
        """Commanded half-width, in dpt, over which the defocus stays below so many waves."""
        best = self.best_focus(working_mm)
        slope = (self.defocus(best + 1e-4, working_mm) - self.defocus(best - 1e-4, working_mm)) / 2e-4
        return waves / abs(slope)

    def mtf(self, frequency_per_px, defocus_waves, angle_deg):
        """Optics times pixel aperture, along the normal of an edge tilted by the angle from an axis."""
        q, a = np.asarray(frequency_per_px, float), np.radians(angle_deg)
        return otf.by_quadrature(q / self.cutoff_per_px(), defocus_waves) * np.sinc(q * np.cos(a)) * np.sinc(q * np.sin(a))
