/** What the light allows at the station's exposure, and which exposures would do. At the darkest plane in focus. */
export interface LightPlan {
  /** On the sensor from a white target in the middle of the range, at the layout's f-number. */
  irradianceUwPerCm2: number;
  from: 'stated-irradiance' | 'measured-frame';
  exposureMs: number;
  /** Longest exposure that motion allows; null for an object at rest. */
  motionExposureMs: number | null;
  /** Exposure that just gives the signal-to-noise ratio; null where none does, however long. */
  neededExposureMs: number | null;
  /** Exposure at which white with its noise saturates, at the brightest plane. */
  saturationExposureMs: number;
  gainDnPerE: number;
  /** Gain at which white with its noise fills nine tenths of the grey values at the station's exposure. */
  fillingGainDnPerE: number;
}
