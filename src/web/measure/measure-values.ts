import type { Region } from '../../image/index.js';
import { formatNumber } from '../../report/index.js';
import type { MeasureKind, MeasureOrder } from './measure-order.js';
import type { FramePrediction } from './prediction.js';

/** What the person has typed, as text; empty: as the station or the library has it. */
export interface MeasureValues {
  umPerPx: string;
  modulation: string;
  sectors: string;
  pitchMm: string;
  pattern: '' | 'dots' | 'checker';
  noise: 'sensor' | 'given' | 'none';
  noiseStdDn: string;
}

export const untouchedValues: MeasureValues = {
  umPerPx: '',
  modulation: '',
  sectors: '72',
  pitchMm: '1',
  pattern: '',
  noise: 'sensor',
  noiseStdDn: '1',
};

/** An order, or what is wrong with what was typed. */
export type ReadyOrder = { kind: 'order'; order: MeasureOrder } | { kind: 'problem'; problem: string };

/** The order that kind, region and values make. */
export function orderOf(
  what: MeasureKind,
  { values, region, about }: { values: MeasureValues; region: Region | null; about: FramePrediction },
): ReadyOrder {
  const number = (name: string, text: string, { min, max, unit }: { min: number; max: number; unit: string }) => {
    const value = text.trim() === '' ? Number.NaN : Number(text);
    if (Number.isFinite(value) && value >= min && value <= max) return value;
    throw new Problem(
      `${name} is ${text.trim() === '' ? 'empty' : `“${text}”`}; allowed: ${formatNumber(min)} to ${formatNumber(max)}${unit && ` ${unit}`}.`,
    );
  };
  try {
    switch (what) {
      case 'edge': {
        const { pixelPitchUm } = about.station.parts.sensor;
        return ready({ what, region, pixelPitchUm, magnification: about.magnification });
      }
      case 'focus': {
        if (values.noise === 'none') return ready({ what, region, noise: null });
        if (values.noise === 'sensor')
          return ready({ what, region, noise: { of: 'sensor', sensor: about.station.parts.sensor } });
        const stdDn = number('Noise of a pixel', values.noiseStdDn, { min: 0, max: 10_000, unit: 'DN' });
        return ready({ what, region, noise: { of: 'given', stdDn } });
      }
      case 'bars': {
        const text = values.umPerPx === '' && about.umPerPx !== null ? String(about.umPerPx) : values.umPerPx;
        const umPerPx = number('A pixel on the object', text, { min: 0.001, max: 100_000, unit: 'µm' });
        const modulation =
          values.modulation.trim() === ''
            ? null
            : number('Least contrast', values.modulation, { min: 0.02, max: 0.95, unit: '' });
        return ready({ what, region, umPerPx, modulation });
      }
      case 'star': {
        const sectors = number('Dark sectors', values.sectors, { min: 8, max: 400, unit: '' });
        if (!Number.isInteger(sectors)) throw new Problem(`Dark sectors is ${sectors}; it must be a whole number.`);
        return ready({ what, region, sectors });
      }
      case 'grid': {
        const pitchMm = number('Pitch', values.pitchMm, { min: 0.0001, max: 10_000, unit: 'mm' });
        return ready({ what, region: null, pitchMm, pattern: values.pattern === '' ? null : values.pattern });
      }
      case 'noise':
        return ready({ what, region });
    }
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { kind: 'problem', problem: error.message };
  }
}

/** What is wrong with a typed value, in words for the person. */
class Problem extends Error {}

const ready = (order: MeasureOrder): ReadyOrder => ({ kind: 'order', order });
