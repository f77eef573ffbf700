/** The finest pattern that still has the task's contrast, at one place of the field. */
export interface FinestFeature {
  /** One line and one gap on the object. */
  objectPeriodUm: number;
  objectFrequencyPerMm: number;
  sensorFrequencyPerPx: number;
  /** `sampling`: finer patterns would alias, though the lens still shows them. */
  limitedBy: 'contrast' | 'sampling';
}

/** The finest element of a three-bar target that is resolved, by the criterion of the record. */
export interface ThreeBarReading {
  group: number;
  /** 1 … 6 */
  element: number;
  linePairsPerMm: number;
}

/** MTF in focus against the record's frequencies, at one place of the field. */
export interface MtfCurves {
  centre: number[];
  /** Lines across the radius from the axis, in the corner. */
  cornerTangential: number[];
  /** Lines along the radius, in the corner. */
  cornerSagittal: number[];
}

/** Light over the field at one plane. */
export interface FieldLight {
  /** Relative to the centre, at the record's image heights. */
  relativeIllumination: number[];
  /** Share of the corner's cone that passes both stops. */
  cornerUnvignettedShare: number;
  /** Radius on the sensor inside which no stop cuts; null where none cuts anywhere. */
  unvignettedRadiusMm: number | null;
  /** Diameter on the object inside which no stop cuts; null where none cuts anywhere. */
  unvignettedFieldMm: number | null;
}

/** One plane of the task, in focus. */
export interface PlaneSharpness {
  name: string;
  workingDistanceMm: number;
  focalPowerDpt: number;
  magnification: number;
  workingFNumber: number;
  taskFrequencyPerPx: number;
  mtfAtTask: number;
  cornerMtfAtTask: number;
  mtfCurves: MtfCurves;
  /** null where no pattern has the contrast. */
  finestCentre: FinestFeature | null;
  finestCorner: FinestFeature | null;
  /** On the axis; null where no pattern of bars has the contrast. */
  threeBar: ThreeBarReading | null;
  light: FieldLight;
  /** Distance between the focuses of the light's blue and red end; 0 where the lenses have no colour. */
  axialColourSpreadUm: number;
}

/** What the layout shows over distance with its focus held at one plane. */
export interface HeldFocus {
  name: string;
  focusedAtMm: number;
  focalPowerDpt: number;
  /** MTF at the task's frequency on the object, at the record's distances. */
  mtfAtTask: number[];
  /** Width seen by the sensor, at the record's distances: breathing is how it differs between two held focuses. */
  fieldWidthMm: number[];
}

/** Sharpness, light and scale over field and distance: what the figures show beside the plan. */
export interface SharpnessRecord {
  kind: 'sharpness';
  /** From 0 to the Nyquist limit. */
  frequenciesPerPx: number[];
  /** From the middle of the sensor to its corner. */
  imageHeightsMm: number[];
  planes: PlaneSharpness[];
  /** Planes that no power focuses, by name. */
  unfocusablePlanes: string[];
  overDistance: {
    workingDistancesMm: number[];
    /** Refocused at each distance; null where no power inside the limits does. */
    refocusedMtfAtTask: (number | null)[];
    refocusedFieldWidthMm: (number | null)[];
    held: HeldFocus[];
  };
  /** Largest difference of scale at one distance between the held focuses, as a share; null without planes. */
  breathingRatio: number | null;
  /** Name of the plane whose corner is darkest; null without planes. */
  darkestPlane: string | null;
  /** How a bar pattern counts as resolved, in words. */
  threeBarCriterion: string;
}
