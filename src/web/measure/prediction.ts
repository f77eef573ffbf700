import {
  predictedFocalPowerDpt,
  predictedMagnification,
  predictedMtf,
  predictedPixelMm,
  type Station,
  sensorNoiseStdDn,
  taskFrequencyPerPx,
} from '../../station/index.js';

/** Where the frame was taken: what a prediction needs besides the station. */
export interface FramePlace {
  workingDistanceMm: number;
  /** Power of the lens less that of best focus. */
  offBestFocusDpt: number;
}

/** What the station as written should show there; null parts where no power focuses the distance. */
export interface FramePrediction {
  station: Station;
  place: FramePlace;
  magnification: number | null;
  umPerPx: number | null;
  /** Size of a pixel on the object at the frame's power, breathing included. */
  pixelMm: number | null;
  taskFrequencyPerPx: number | null;
  /** From 0 to 0.5 cycles per pixel. */
  mtf: { frequencyPerPx: number; value: number }[] | null;
  mtfAtTask: number | null;
  mtf50PerPx: number | null;
  /** Temporal noise of a pixel at a grey value of frames of a bit depth. */
  noiseStdDn(greyDn: number, bitDepth: number): number;
}

const frequenciesPerPx = Array.from({ length: 51 }, (_, i) => i / 100);

/** What the station predicts for a frame of a target at rest, on the axis. */
export function predictFrame(station: Station, place: FramePlace): FramePrediction {
  const { workingDistanceMm, offBestFocusDpt } = place;
  const { sensor } = station.parts;
  const bestDpt = predictedFocalPowerDpt({ station, workingDistanceMm });
  const magnification = predictedMagnification({ station, workingDistanceMm });
  const task = magnification === null ? null : taskFrequencyPerPx({ station, magnification });
  const at = (frequencies: readonly number[]) =>
    bestDpt === null
      ? null
      : predictedMtf({
          station,
          workingDistanceMm,
          focalPowerDpt: bestDpt + offBestFocusDpt,
          frequenciesPerPx: frequencies,
          moving: false,
        });
  const mtf = at(frequenciesPerPx)?.map((value, i) => ({ frequencyPerPx: frequenciesPerPx[i]!, value })) ?? null;
  return {
    station,
    place,
    magnification,
    umPerPx: magnification === null ? null : sensor.pixelPitchUm / magnification,
    pixelMm:
      bestDpt === null
        ? null
        : predictedPixelMm({ station, workingDistanceMm, focalPowerDpt: bestDpt + offBestFocusDpt }),
    taskFrequencyPerPx: task,
    mtf,
    mtfAtTask: task === null ? null : (at([task])?.[0] ?? null),
    mtf50PerPx: mtf && firstBelowHalfPerPx(mtf),
    noiseStdDn: (greyDn, bitDepth) => sensorNoiseStdDn({ sensor, greyDn, bitDepth }),
  };
}

function firstBelowHalfPerPx(curve: readonly { frequencyPerPx: number; value: number }[]): number | null {
  const i = curve.findIndex(({ value }) => value < 0.5);
  if (i < 1) return null;
  const [a, b] = [curve[i - 1]!, curve[i]!];
  return a.frequencyPerPx + ((a.value - 0.5) / (a.value - b.value)) * (b.frequencyPerPx - a.frequencyPerPx);
}
