import { readFileSync } from 'node:fs';
import { parse } from 'yaml';
import type { LedgerRow } from '../../src/base/index.js';
import { focalPowerAt, traceSystem, workingDistanceAt } from '../../src/optics/index.js';
import {
  type AutofocusRecord,
  type CommissionRecord,
  type DepthOfFieldRecord,
  layoutModelOf,
  type PlanePrediction,
  type PlanRecord,
  type ResolutionReading,
  type Station,
  stationSchema,
} from '../../src/station/index.js';

/**
 * Records of an invented run, for tests of figures and report. Powers, magnifications and pupils are those of the
 * optical model; what stands for readings is the prediction with fixed deviations, made up.
 */

export const sampleStationYaml = readFileSync(new URL('../../stations/glaze-line.yaml', import.meta.url), 'utf8');
export const sampleStation: Station = stationSchema.parse(parse(sampleStationYaml));

const model = layoutModelOf(sampleStation);
const { sensor } = sampleStation.parts;

function powerAt(workingDistanceMm: number): number {
  const power = focalPowerAt({ model, workingDistanceMm });
  if (power.kind === 'none') throw new Error(power.reason);
  return power.focalPowerDpt;
}

function reachedAt(focalPowerDpt: number): number {
  const focus = workingDistanceAt({ model, focalPowerDpt });
  if (focus.kind !== 'real') throw new Error(focus.kind);
  return focus.workingDistanceMm;
}

function depth(
  criterion: DepthOfFieldRecord['criterion'],
  workingDistanceMm: number,
  halfWidthDpt: number,
): DepthOfFieldRecord {
  const nearMm = 1000 / (1000 / workingDistanceMm + halfWidthDpt);
  const farMm = 1000 / (1000 / workingDistanceMm - halfWidthDpt);
  return {
    criterion,
    nearMm,
    farMm,
    totalMm: farMm - nearMm,
    nearHalfWidthDpt: halfWidthDpt,
    farHalfWidthDpt: halfWidthDpt,
  };
}

function plane(name: string, workingDistanceMm: number): PlanePrediction {
  const focalPowerDpt = powerAt(workingDistanceMm);
  const traced = traceSystem({ model, focalPowerDpt });
  const magnification = Math.abs(traced.magnification);
  const taskFrequencyPerMm = 1 / (2 * sampleStation.task.smallestFeatureMm) / magnification;
  const taskContrast = depth('task-contrast', workingDistanceMm, 0.094);
  return {
    name,
    workingDistanceMm,
    focalPowerDpt,
    neededPowerDpt: focalPowerDpt,
    magnification,
    fieldWidthMm: (sensor.widthPx * sensor.pixelPitchUm) / 1000 / magnification,
    fieldHeightMm: (sensor.heightPx * sensor.pixelPitchUm) / 1000 / magnification,
    workingFNumber: traced.workingFNumber,
    objectNumericalAperture: traced.objectNumericalAperture,
    pupils: { entrance: traced.entrancePupil, exit: traced.exitPupil },
    limitingStop: traced.limitingStop,
    depthOfFieldMm: taskContrast.totalMm,
    depthOfField: {
      blurDisc: depth('blur-disc', workingDistanceMm, 0.11),
      quarterWave: depth('quarter-wave', workingDistanceMm, 0.066),
      taskContrast,
    },
    taskFrequencyPerMm,
    taskFrequencyPerPx: (taskFrequencyPerMm * sensor.pixelPitchUm) / 1000,
    mtfAtTask: 0.58,
    mtfParts: { diffraction: 0.79, colour: 1, coma: 1, wavefrontError: 0.92, pixel: 0.81, motion: 0.985 },
    cornerMtfAtTask: 0.55,
    finestFeatureMm: 0.15,
    meanGreyDn: 168,
    signalToNoise: 24.6,
  };
}

const planes = [plane('near', 340), plane('middle', 443), plane('far', 545)];

export const sampleLedger: LedgerRow[] = [
  {
    key: 'reach.near',
    title: 'Nearest distance in focus',
    unit: 'mm',
    required: { min: null, max: 340 },
    predicted: { value: 231.4, std: 3.1 },
    measured: { value: 233.72, std: 0.84 },
    verdict: 'meets',
    reason: 'The lens reaches 233.7 mm, 106 mm nearer than the task needs.',
    remedy: null,
    basis: 'Working distance at 3 dpt by paraxial matrices; measured: calibrated curve at the upper limit.',
  },
  {
    key: 'resolution.far.mtfAtTask',
    title: 'Contrast at the task frequency, far',
    unit: '',
    required: { min: 0.2, max: null },
    predicted: { value: 0.41, std: 0.03 },
    measured: { value: 0.213, std: 0.018 },
    verdict: 'marginal',
    reason: 'Measured 0.213 ± 0.018 is above 0.2 by less than two standard uncertainties.',
    remedy: 'Close the aperture to f/5.6, or bring the camera 30 mm nearer.',
    basis: 'Edge response, ISO 12233 e-SFR, at 1 / (2 × 0.2 mm) on the object.',
  },
  {
    key: 'time.cycle',
    title: 'Time for all planes of one part',
    unit: 'ms',
    required: { min: null, max: 900 },
    predicted: { value: 118.3, std: null, note: 'datasheet gives no spread' },
    measured: null,
    verdict: 'unknown',
    reason: 'Not measured in this run: the sequence was not triggered.',
    remedy: 'Run the sequence against the real trigger.',
    basis: 'Sum over planes of settling, exposure and readout.',
  },
  {
    key: 'budget.near',
    title: 'Focus budget at 340 mm',
    unit: 'dpt',
    required: { min: null, max: 0.094 },
    predicted: { value: 0.1021, std: 0.011 },
    measured: { value: 0.0988, std: 0.0062 },
    verdict: 'fails',
    reason: 'All that moves the focus adds to ±0.099 dpt, more than depth of field allows (±0.094 dpt).',
    remedy: 'Close the aperture to f/5.6, or calibrate the drift with temperature.',
    basis: 'Root sum of squares of control step, repeatability, hysteresis, temperature and calibration.',
  },
];

const cautions = [
  'Bright light: the lamp is in risk group 1 (IEC 62471). Don’t look into it; follow the maker’s datasheet.',
  'Moving machinery: the belt may start. Lock it out before work in its reach (ISO 12100, IEC 60204-1).',
];

export const samplePlan: PlanRecord = {
  kind: 'plan',
  station: 'glaze-line',
  invented: true,
  stationSha256: '5d'.repeat(32),
  softwareVersion: '0.1.0',
  verdict: 'marginal',
  reasons: [],
  reach: { nearMm: reachedAt(3), farMm: null, farIsInfinite: true, coveredShare: 1, powerMinDpt: -2, powerMaxDpt: 3 },
  planes,
  budget: planes.map(({ name }, i) => ({
    plane: name,
    allowedHalfWidthDpt: 0.094,
    terms: [
      { name: 'control-step', valueDpt: 0.0014, worstCaseDpt: 0.0025, note: 'evenly spread over its width' },
      { name: 'repeatability', valueDpt: 0.01, worstCaseDpt: 0.03, note: '1 σ of the datasheet; worst case 3 σ' },
      { name: 'hysteresis', valueDpt: 0.0058, worstCaseDpt: 0.01, note: 'half the width either way' },
      { name: 'temperature', valueDpt: 0.026, worstCaseDpt: 0.052, note: 'not corrected, 18 … 38 °C' },
      { name: 'calibration', valueDpt: 0.008 + 0.01 * i, worstCaseDpt: 0.016 + 0.02 * i, note: 'from seven distances' },
    ],
    rootSumSquareDpt: Math.hypot(0.0014, 0.01, 0.0058, 0.026, 0.008 + 0.01 * i),
    worstCaseDpt: 0.1105 + 0.02 * i,
    firstChange: null,
  })),
  planesToCover: 7,
  settlingMs: 11.4,
  cycleMs: 118.3,
  timing: { frameMs: 10, moves: [], shapedCycleMs: null, planesPerCycleCount: 22, shapedPlanesPerCycleCount: null },
  light: null,
  autofocus: null,
  ledger: sampleLedger,
  assumptions: ['Pupil magnification as given by the datasheet; its tolerance is not known and taken as zero.'],
  cautions,
};

/** Fixed deviations in units of one standard uncertainty, so that every run of the tests sees the same. */
const deviations = [0.6, -1.1, 0.2, 1.4, -0.5, -0.9, 0.8, 0.1, -0.3, 1.0, -1.6, 0.4];

const targetDistancesMm = [340, 361, 385, 412, 443, 479, 521, 545];

function sweepAt(workingDistanceMm: number, bestDpt: number, contrast: number): AutofocusRecord['sweep'] {
  const region = { xPx: 480, yPx: 352, widthPx: 320, heightPx: 320 };
  const points = Array.from({ length: 17 }, (_, i) => {
    const focalPowerDpt = Number((bestDpt + (i - 8) * 0.06 + 0.013).toFixed(3));
    const measureStd = 0.9;
    const measure = 12 + contrast / (1 + ((focalPowerDpt - bestDpt) / 0.11) ** 2) + measureStd * deviations[i % 12]!;
    return {
      focalPowerDpt,
      measure,
      measureStd,
      meanGreyDn: 121,
      temperatureDegC: 24 + i * 0.02,
      frame: `frames/sweep-${workingDistanceMm}-${String(i).padStart(2, '0')}.png`,
    };
  });
  return { workingDistanceMm, measure: 'TENV', region, points };
}

const sampleAutofocus: AutofocusRecord[] = targetDistancesMm.map((workingDistanceMm, i) => {
  const focalPowerDpt = powerAt(workingDistanceMm) * 1.012 + 0.043 + 0.004 * deviations[i]!;
  if (workingDistanceMm === 521) {
    return {
      kind: 'refused',
      workingDistanceMm,
      reason: 'no-texture',
      message: 'the region shows no texture: contrast 0.4 %, needed 2 %',
      remedy: 'Choose a region with an edge, or turn the target.',
      frames: 17,
      elapsedMs: 412,
      sweep: sweepAt(workingDistanceMm, focalPowerDpt, 0),
    };
  }
  return {
    kind: 'found',
    workingDistanceMm,
    focalPowerDpt,
    focalPowerStdDpt: 0.0042,
    frames: 17,
    elapsedMs: 398 + 7 * i,
    temperatureDegC: 24.2,
    sweep: sweepAt(workingDistanceMm, focalPowerDpt, 60),
  };
});

const found = sampleAutofocus.filter((record) => record.kind === 'found');

/** Contrast of a blurred edge, made up: falls as a Gaussian. */
const mtfAt = (frequencyPerPx: number, width: number) => Math.exp(-((frequencyPerPx / width) ** 2));

const sampleResolution: ResolutionReading[] = [
  ...planes.slice(0, 2).map((p): ResolutionReading => {
    const frequencies = Array.from({ length: 21 }, (_, i) => i * 0.025);
    return {
      name: p.name as 'near' | 'middle',
      workingDistanceMm: p.workingDistanceMm,
      focalPowerDpt: p.focalPowerDpt! + 0.05,
      frame: `frames/resolution-${p.name}.png`,
      result: {
        kind: 'measured',
        orientation: 'near-vertical',
        edgeAngleDeg: 5.13,
        region: { xPx: 560, yPx: 440, widthPx: 120, heightPx: 120 },
        mtf: frequencies.map((frequencyPerPx, i) => ({
          frequencyPerPx,
          value: mtfAt(frequencyPerPx, 0.3) + 0.008 * deviations[i % 12]! * frequencyPerPx * 2,
          std: 0.004 + 0.012 * frequencyPerPx,
        })),
        predictedMtf: frequencies.map((frequencyPerPx) => ({ frequencyPerPx, value: mtfAt(frequencyPerPx, 0.32) })),
        edgeSpread: Array.from({ length: 65 }, (_, i) => {
          const positionPx = (i - 32) / 4;
          return { positionPx, value: 40 + 120 / (1 + Math.exp(-positionPx * 1.9)) };
        }),
        mtf50PerPx: { value: 0.2497, std: 0.0041 },
        predictedMtf50PerPx: 0.2664,
        mtfAtTask: { value: mtfAt(p.taskFrequencyPerPx, 0.3), std: 0.006 },
        predictedMtfAtTask: mtfAt(p.taskFrequencyPerPx, 0.32),
        taskFrequencyPerPx: p.taskFrequencyPerPx,
      },
    };
  }),
  {
    name: 'far',
    workingDistanceMm: 545,
    focalPowerDpt: planes[2]!.focalPowerDpt! + 0.05,
    frame: 'frames/resolution-far.png',
    result: {
      kind: 'refused',
      reason: 'the edge is tilted by 0.3°, too little to sample it finely',
      remedy: 'Turn the target to 5°.',
    },
  },
];

export const sampleCommission: CommissionRecord = {
  kind: 'commission',
  format: 1,
  startedOn: '2026-11-24T08:00:00.000Z',
  station: 'glaze-line',
  invented: true,
  state: 'complete',
  stateReason: null,
  simulated: true,
  device: { id: 'sim:glaze-line', model: 'simulated camera', lensModel: 'simulated tunable lens' },
  verdict: 'fails',
  ledger: sampleLedger,
  autofocus: sampleAutofocus,
  calibration: {
    kind: 'fitted',
    points: found.map((record) => {
      const predictedDpt = powerAt(record.workingDistanceMm);
      const fittedDpt = predictedDpt * 1.012 + 0.043;
      return {
        workingDistanceMm: record.workingDistanceMm,
        measuredDpt: { value: record.focalPowerDpt, std: record.focalPowerStdDpt },
        predictedDpt,
        fittedDpt,
        residualDpt: record.focalPowerDpt - fittedDpt,
        temperatureDegC: record.temperatureDegC,
      };
    }),
    parameters: [
      {
        name: 'powerOffsetDpt',
        unit: 'dpt',
        title: 'Power at zero command',
        prior: { value: 0, std: 0.05 },
        fitted: { value: 0.0431, std: 0.0024 },
      },
      {
        name: 'powerGain',
        unit: '',
        title: 'Slope of power against command',
        prior: { value: 1, std: 0.02 },
        fitted: { value: 1.0118, std: 0.0031 },
      },
      {
        name: 'ringDistanceRelative',
        unit: '',
        title: 'Focus ring, relative to its setting',
        prior: { value: 0, std: 0.02 },
        fitted: { value: 0.0012, std: 0.0188 },
      },
    ],
    residualRmsDpt: 0.0034,
    reducedChiSquare: 0.87,
    curve: Array.from({ length: 41 }, (_, i) => {
      const workingDistanceMm = 340 + i * 5.125;
      return {
        workingDistanceMm,
        focalPowerDpt: powerAt(workingDistanceMm) * 1.012 + 0.043,
        predicted95Dpt: 0.012 + 0.006 * ((i - 20) / 20) ** 2,
      };
    }),
    referenceTemperatureDegC: 25,
    explanation: 'The lens stands 0.043 dpt above its command at zero; the focus ring and the gain explain little.',
  },
  resolution: sampleResolution,
  frames: sampleAutofocus.flatMap((record, i) =>
    record.sweep.points.slice(0, 4).map((point, j) => ({
      file: point.frame,
      sha256: `${(i * 16 + j + 1).toString(16).padStart(4, '0')}`.repeat(16),
      focalPowerDpt: point.focalPowerDpt,
      workingDistanceMm: record.workingDistanceMm,
      exposureMs: 0.6,
      temperatureDegC: point.temperatureDegC,
      purpose: 'sweep' as const,
    })),
  ),
  cautions,
  provenance: {
    procedure: 'commission',
    parameters: { targetDistancesMm, sweepSpanDpt: 1, focusMeasure: 'TENV' },
    inputHashes: { 'glaze-line.yaml': '5d'.repeat(32) },
    device: 'sim:glaze-line',
    seed: 7,
    softwareVersion: '0.1.0',
  },
  elapsedMs: 61_400,
};
