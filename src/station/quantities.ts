import { z } from 'zod';

/**
 * The kinds of number a station file may hold, each with its allowed range and unit for messages and for the published
 * JSON Schema. A key's suffix names the unit; `unit` here is what a reader sees.
 */

const quantity = (unit: string, what: string) => z.number().meta({ unit, description: what });

/** A group of keys; unknown ones are errors. */
export const group = <Shape extends z.ZodRawShape>(what: string, shape: Shape) =>
  z.strictObject(shape).meta({ description: what });

export const lengthMm = (what: string, min = 0, max = 100_000) => quantity('mm', what).min(min).max(max);
export const positiveMm = (what: string, max = 100_000) => quantity('mm', what).gt(0).max(max);
export const positiveUm = (what: string, max = 1000) => quantity('µm', what).gt(0).max(max);
export const wavelengthNm = (what: string) => quantity('nm', what).min(200).max(2000);
export const bandwidthNm = (what: string) => quantity('nm', what).min(0).max(800);
export const powerDpt = (what: string) => quantity('dpt', what).min(-50).max(50);
export const spreadDpt = (what: string) => quantity('dpt', what).min(0).max(10);
export const driftDptPerDegC = (what: string) => quantity('dpt/°C', what).min(-1).max(1);
export const slewDptPerS = (what: string) => quantity('dpt/s', what).gt(0).max(1_000_000);
export const currentMa = (what: string) => quantity('mA', what).min(-5000).max(5000);
export const durationMs = (what: string, max = 600_000) => quantity('ms', what).min(0).max(max);
export const speedMmPerS = (what: string) => quantity('mm/s', what).min(0).max(100_000);
export const temperatureDegC = (what: string) => quantity('°C', what).min(-40).max(150);
export const temperatureStepDegC = (what: string, max: number) => quantity('°C', what).min(0).max(max);
export const rateHz = (what: string, max = 100_000) => quantity('Hz', what).gt(0).max(max);
export const electronsE = (what: string) => quantity('e⁻', what).min(0).max(10_000_000);
export const irradianceUwPerCm2 = (what: string) => quantity('µW/cm²', what).min(1e-6).max(1e6);
export const gainDnPerE = (what: string) => quantity('DN/e⁻', what).min(1e-6).max(1000);
export const greyDn = (what: string) => quantity('DN', what).min(0).max(1000);
export const measuredGreyDn = (what: string) => quantity('DN', what).gt(0).max(4095);
export const wavefrontRmsWaves = (what: string) => quantity('waves', what).min(0).max(2);
export const comaRmsWaves = (what: string) => quantity('waves', what).min(0).max(0.5);
export const focusShiftUm = (what: string) => quantity('µm', what).min(-5000).max(5000);
export const angleDeg = (what: string) => quantity('°', what).min(0).max(180);
export const blurPx = (what: string) => quantity('px', what).min(0.1).max(20);
export const fraction = (what: string) => quantity('', what).min(0).max(1);
export const ratio = (what: string, min: number, max: number) => quantity('', what).min(min).max(max);
export const pixels = (what: string, max = 100_000) => z.int().min(1).max(max).meta({ unit: 'px', description: what });
