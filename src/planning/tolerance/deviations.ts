import { type BuildValues, buildTolerancesOf, nominalBuild, type Station } from '../../station/index.js';

/** How one station was built, and what its calibration saw wrongly. */
export interface DrawnStation {
  build: BuildValues;
  temperatureCoefficientRatio: number;
  fixedWavefrontRatio: number;
  tunableWavefrontRatio: number;
  irradianceRatio: number;
  /** Reading less truth of the lens's thermometer. */
  temperatureReadingDegC: number;
}

/** Something that differs from station to station: its 1σ, and what it changes. */
export interface Deviation {
  name: string;
  title: string;
  std: number;
  apply(drawn: DrawnStation, value: number): void;
}

/** A station as its file says. */
export function asWritten(station: Station): DrawnStation {
  return {
    build: nominalBuild(station),
    temperatureCoefficientRatio: 1,
    fixedWavefrontRatio: 1,
    tunableWavefrontRatio: 1,
    irradianceRatio: 1,
    temperatureReadingDegC: 0,
  };
}

/**
 * Every deviation with a tolerance.
 *
 * Model    independent, normal; what cannot be negative is held at 0
 */
export function deviationsOf(station: Station): Deviation[] {
  const { fixedLens, tunableLens, light } = station.parts;
  const relative = (
    name: 'temperatureCoefficientRatio' | 'fixedWavefrontRatio' | 'tunableWavefrontRatio' | 'irradianceRatio',
    title: string,
    std: number,
  ): Deviation => ({
    name,
    title,
    std,
    apply(drawn, value) {
      drawn[name] = Math.max(0, 1 + value);
    },
  });
  const drifts = tunableLens.temperatureCoefficientDptPerDegC !== 0;
  const all: Deviation[] = [
    ...buildTolerancesOf(station).map(
      ({ name, title, std }): Deviation => ({
        name,
        title,
        std,
        apply(drawn, value) {
          drawn.build[name] += value;
        },
      }),
    ),
    relative(
      'temperatureCoefficientRatio',
      'Temperature coefficient of the tunable lens',
      drifts ? tunableLens.tolerance.temperatureCoefficientRelative : 0,
    ),
    relative(
      'fixedWavefrontRatio',
      'Wavefront error of the fixed lens',
      fixedLens.wavefrontErrorRmsWaves > 0 ? fixedLens.tolerance.wavefrontErrorRelative : 0,
    ),
    relative(
      'tunableWavefrontRatio',
      'Wavefront error of the tunable lens',
      tunableLens.wavefrontErrorRmsWaves > 0 ? tunableLens.tolerance.wavefrontErrorRelative : 0,
    ),
    relative('irradianceRatio', 'Irradiance', light.tolerance.irradianceRelative),
    {
      name: 'temperatureReadingDegC',
      title: 'Temperature reading',
      std: drifts && station.controls.compensateTemperature ? station.commissioning.temperatureStdDegC : 0,
      apply(drawn, value) {
        drawn.temperatureReadingDegC = value;
      },
    },
  ];
  return all.filter(({ std }) => std > 0);
}

/** The station with every deviation at so many σ. */
export function drawnStation(station: Station, deviations: readonly Deviation[], sigmas: ArrayLike<number>) {
  const drawn = asWritten(station);
  deviations.forEach((deviation, i) => {
    const value = deviation.std * sigmas[i]!;
    if (value !== 0) deviation.apply(drawn, value);
  });
  return drawn;
}
