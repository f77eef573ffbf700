import { type Random, sFromMs } from '../../base/index.js';
import { advanceSecondOrder, atRest, type SecondOrderState } from '../../optics/index.js';
import type { Station } from '../../station/index.js';
import type { BuildErrors } from '../build-errors.js';
import { nextPlayDpt } from './play-operator.js';

type TunableLens = Station['parts']['tunableLens'];

/** The tunable lens as it moves on the station's clock. Times must not go back from one call to the next. */
export interface LensDynamics {
  /** Gives a command; what it does begins after the dead time. Returns the power after rounding to the control step. */
  command(at: { timeMs: number; focalPowerDpt: number }): number;
  /** What the driver reads back: the power last commanded, or where it knows that the lens is stuck. */
  reportedDpt(): number;
  /** True focal powers in the middle of `count` equal parts of a time. */
  truePowersDpt(during: { fromMs: number; untilMs: number; count: number }): Float64Array;
  /** From now on the lens stays where it is heading, whatever is commanded. */
  stick(how: 'reported' | 'unnoticed'): void;
}

/** Time constant of the slow part of a move; common practice, no source. */
const creepTimeConstantMs = 4000;

/**
 * The tunable lens with its hidden errors.
 *
 * Model    command → control step → play (hysteresis) → gain and offset, with a new repeatability error for every move →
 *          dead time → exact second-order response and slow creep; temperature and drift add
 * Formula  P(t) = x(t) + c(t) + k·(T(t) − T_ref) + drift·t,  x'' + 2ζω·x' + ω²·(x − target) = 0,  c' = (r·target − c)/τ
 * Input    `startDpt`: the power at which it stands, settled, at time 0; `slowingRatio` divides the natural frequency.
 * Trust    one resonance; real lenses have more, and their damping changes with temperature.
 * Checked  closed form: step response; hysteresis sign; tests/twin/lens/lens-dynamics.test.ts
 */
export function lensDynamics({
  lens,
  errors,
  random,
  temperatureAt,
  startDpt,
  slowingRatio = 1,
}: {
  lens: TunableLens;
  errors: BuildErrors;
  random: Random;
  temperatureAt: (timeMs: number) => number;
  startDpt: number;
  slowingRatio?: number;
}): LensDynamics {
  const system = { naturalFrequencyHz: lens.naturalFrequencyHz / slowingRatio, dampingRatio: lens.dampingRatio };
  const trueDpt = (playDpt: number) => errors.lensGain * playDpt + errors.lensOffsetDpt;
  const pending: { atMs: number; targetDpt: number }[] = [];
  let commandedDpt = startDpt;
  let playDpt = startDpt;
  let stuckAtDpt: number | null = null;
  let isReported = false;
  let nowMs = 0;
  let targetDpt = trueDpt(startDpt);
  let state: SecondOrderState = atRest(targetDpt);
  let creepDpt = 0;
  const creepOriginDpt = targetDpt;

  function advanceTo(timeMs: number): void {
    while (pending.length > 0 && pending[0]!.atMs <= timeMs) {
      const next = pending.shift()!;
      moveTo(next.atMs);
      targetDpt = next.targetDpt;
    }
    moveTo(timeMs);
  }

  function moveTo(timeMs: number): void {
    const durationMs = timeMs - nowMs;
    if (durationMs <= 0) return;
    state = advanceSecondOrder({ state, targetDpt, durationMs, ...system });
    const creepTargetDpt = errors.creepRatio * (targetDpt - creepOriginDpt);
    creepDpt = creepTargetDpt + (creepDpt - creepTargetDpt) * Math.exp(-durationMs / creepTimeConstantMs);
    nowMs = timeMs;
  }

  const temperatureShiftDpt = (timeMs: number) =>
    errors.temperatureCoefficientDptPerDegC * (temperatureAt(timeMs) - lens.referenceTemperatureDegC);

  return {
    command({ timeMs, focalPowerDpt }) {
      const wantedDpt = toControlStep(focalPowerDpt, lens);
      if (stuckAtDpt !== null || wantedDpt === commandedDpt) {
        commandedDpt = wantedDpt;
        return commandedDpt;
      }
      commandedDpt = wantedDpt;
      playDpt = nextPlayDpt({ previousDpt: playDpt, inputDpt: commandedDpt, widthDpt: errors.hysteresisDpt });
      const target = trueDpt(playDpt) + errors.repeatabilityDpt * random.normal();
      pending.push({ atMs: timeMs + lens.deadTimeMs, targetDpt: target });
      return commandedDpt;
    },
    reportedDpt: () => (isReported && stuckAtDpt !== null ? stuckAtDpt : commandedDpt),
    truePowersDpt({ fromMs, untilMs, count }) {
      return Float64Array.from({ length: count }, (_, i) => {
        const timeMs = fromMs + ((i + 0.5) * (untilMs - fromMs)) / count;
        advanceTo(timeMs);
        return state.powerDpt + creepDpt + temperatureShiftDpt(timeMs) + errors.driftDptPerS * sFromMs(timeMs);
      });
    },
    stick(how) {
      stuckAtDpt ??= commandedDpt;
      isReported = how === 'reported';
    },
  };
}

/** The nearest power that the driver can command, inside the lens's limits. */
function toControlStep(focalPowerDpt: number, { controlStepDpt, powerMinDpt, powerMaxDpt }: TunableLens): number {
  if (controlStepDpt === 0) return focalPowerDpt;
  const rounded = Math.round(focalPowerDpt / controlStepDpt) * controlStepDpt;
  return Math.min(powerMaxDpt, Math.max(powerMinDpt, Number(rounded.toFixed(9))));
}
