import { type Random, requireInteger, requireNumber, requirePositive } from '../base/index.js';

/** What goes wrong on purpose. Chances are drawn by the bench's seed, so that a failed rehearsal can be repeated. */
export type Fault =
  /** A frame does not arrive: `frame-lost` after the time it should have taken. */
  | { kind: 'lost-frame'; probability: number }
  /** A frame arrives later than it should. */
  | { kind: 'late-frame'; probability: number; delayMs: number }
  /** The lens swings this much slower than its datasheet says. */
  | { kind: 'slow-settling'; ratio: number }
  /** After this many commands the lens stays where it is; its driver reports that, or goes on to report what is commanded. */
  | { kind: 'stuck-lens'; commandCount: number; isReported: boolean }
  /** After this many frames the link is gone for good. */
  | { kind: 'lost-link'; frameCount: number }
  /** The light is brighter than planned by this ratio. */
  | { kind: 'saturated-light'; ratio: number }
  /** From this time on the lens is warmer by so much. */
  | { kind: 'hot-lens'; afterMs: number; riseDegC: number };

export type FaultKind = Fault['kind'];

/** A usual case of each fault, by name. */
export const usualFaults: { readonly [K in FaultKind]: Extract<Fault, { kind: K }> } = {
  'lost-frame': { kind: 'lost-frame', probability: 0.1 },
  'late-frame': { kind: 'late-frame', probability: 0.2, delayMs: 120 },
  'slow-settling': { kind: 'slow-settling', ratio: 5 },
  'stuck-lens': { kind: 'stuck-lens', commandCount: 3, isReported: true },
  'lost-link': { kind: 'lost-link', frameCount: 10 },
  'saturated-light': { kind: 'saturated-light', ratio: 8 },
  'hot-lens': { kind: 'hot-lens', afterMs: 0, riseDegC: 60 },
};

/** The faults of one bench, ready to be asked. */
export interface FaultPlan {
  losesFrame(): boolean;
  /** Delay of the next frame, 0 for most. */
  frameDelayMs(): number;
  slowingRatio: number;
  lightRatio: number;
  /** Whether the lens sticks at a command, and whether its driver says so. */
  stickingAt(commandCount: number): 'reported' | 'unnoticed' | null;
  linkLostAt(frameCount: number): boolean;
  temperatureRiseDegC(timeMs: number): number;
}

/**
 * Puts faults together.
 *
 * Throws   RangeError naming the field: probability outside 0 … 1, a ratio not > 0, a count, delay or time below 0.
 */
export function faultPlan(faults: readonly Fault[], random: Random): FaultPlan {
  for (const fault of faults) requireFault(fault);
  const of = <K extends FaultKind>(kind: K) =>
    faults.filter((fault): fault is Extract<Fault, { kind: K }> => fault.kind === kind);
  const lost = random.fork('lost-frame');
  const late = random.fork('late-frame');
  const product = (ratios: { ratio: number }[]) => ratios.reduce((all, { ratio }) => all * ratio, 1);
  return {
    losesFrame: () => of('lost-frame').some(({ probability }) => lost.uniform() < probability),
    frameDelayMs: () =>
      of('late-frame').reduce((sum, { probability, delayMs }) => sum + (late.uniform() < probability ? delayMs : 0), 0),
    slowingRatio: product(of('slow-settling')),
    lightRatio: product(of('saturated-light')),
    stickingAt(count) {
      const sticking = of('stuck-lens').find(({ commandCount }) => count > commandCount);
      return sticking === undefined ? null : sticking.isReported ? 'reported' : 'unnoticed';
    },
    linkLostAt: (count) => of('lost-link').some(({ frameCount }) => count > frameCount),
    temperatureRiseDegC: (timeMs) =>
      of('hot-lens').reduce((sum, { afterMs, riseDegC }) => sum + (timeMs >= afterMs ? riseDegC : 0), 0),
  };
}

function requireFault(fault: Fault): void {
  const name = (field: string) => `faults.${fault.kind}.${field}`;
  switch (fault.kind) {
    case 'late-frame':
      requireNumber(name('delayMs'), fault.delayMs, { min: 0, unit: 'ms' });
      requireNumber(name('probability'), fault.probability, { min: 0, max: 1 });
      return;
    case 'lost-frame':
      requireNumber(name('probability'), fault.probability, { min: 0, max: 1 });
      return;
    case 'slow-settling':
    case 'saturated-light':
      requirePositive(name('ratio'), fault.ratio);
      return;
    case 'stuck-lens':
      requireInteger(name('commandCount'), fault.commandCount, { min: 0 });
      return;
    case 'lost-link':
      requireInteger(name('frameCount'), fault.frameCount, { min: 0 });
      return;
    case 'hot-lens':
      requireNumber(name('afterMs'), fault.afterMs, { min: 0, unit: 'ms' });
      requireNumber(name('riseDegC'), fault.riseDegC, { min: 0, unit: '°C' });
  }
}
