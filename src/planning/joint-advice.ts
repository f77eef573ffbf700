import { type LightPlan, middleFNumberOf, type Station } from '../station/index.js';
import { type PlanRow, remedyShare, type Wish } from './verdict.js';
import { inWords } from './words.js';

/** A limit on a dial, with the requirement that sets it. */
interface Limit {
  by: string;
  value: number;
}

/**
 * One advice for all rows that would turn the same dial in opposite directions.
 *
 * Model    aperture first: the largest f-number that a row asks for, unless another asks for less; then the exposure between
 *          what the signal-to-noise ratio needs there and what motion, saturation and cycle allow; what is missing is asked
 *          of the light, or of several frames where white would saturate
 * Returns  the rows, those concerned with the joint advice as their remedy; as they were where none contradict.
 * Trust    one step: a longer exposure smears more, so that a row of contrast or depth may end up just met
 * Checked  property: what it names meets exposure, light and motion and no row of focus fails, tests/planning/joint-advice.test.ts
 */
export function withJointAdvice({
  station,
  light,
  rows,
}: {
  station: Station;
  light: LightPlan | null;
  rows: readonly PlanRow[];
}): readonly PlanRow[] {
  const open = rows.filter(({ wishes = [] }) => wishes.length > 0);
  if (light === null || !contradict(open.flatMap(({ wishes }) => wishes!))) return rows;
  const joint = jointAdvice(station, light, open);
  return rows.map((row) => {
    if (!open.includes(row)) return row;
    return { ...row, remedy: isSettled(row) ? joint : `${row.remedy}; ${joint}` };
  });
}

/** Whether the joint advice answers a row: its wishes are about light, or say how far. */
const isSettled = ({ wishes = [] }: PlanRow): boolean =>
  wishes.some(({ dial, value }) => dial === 'light' || value !== undefined);

/** Whether one wish turns a dial up and another turns it down. */
function contradict(wishes: readonly Wish[]): boolean {
  return (['exposureMs', 'fNumber', 'light'] as const).some((dial) => {
    const directions = wishes.filter((wish) => wish.dial === dial).map(({ direction }) => direction);
    return directions.includes('up') && directions.includes('down');
  });
}

function jointAdvice(station: Station, light: LightPlan, open: readonly PlanRow[]): string {
  const aperture = jointFNumber(station, open);
  const { fNumber } = station.layout;
  const dimming =
    aperture.fNumber === fNumber
      ? 1
      : (middleFNumberOf(station, aperture.fNumber) / middleFNumberOf(station, fNumber)) ** 2;
  const lower: Limit[] = [];
  if (light.neededExposureMs !== null) {
    lower.push({ by: 'signal-to-noise ratio', value: (1 + remedyShare) ** 2 * light.neededExposureMs * dimming });
  }
  lower.push(...limitsOf(open, 'exposureMs', 'up').map(({ by, value }) => ({ by, value: value * dimming })));
  const saturation = { by: 'saturation', value: (1 - remedyShare) * light.saturationExposureMs * dimming };
  const upper = limitsOf(open, 'exposureMs', 'down').filter(({ by }) => by !== saturation.by);
  if (light.motionExposureMs !== null) {
    upper.push({ by: 'motion blur', value: (1 - remedyShare) * light.motionExposureMs });
  }
  const least = lower.reduce((a, b) => (b.value > a.value ? b : a), { by: '', value: 0 });
  const most = [...upper, saturation].reduce((a, b) => (b.value < a.value ? b : a));
  const opening = [aperture.collision, exposureCollision(least, most, aperture.fNumber)].filter(
    (text) => text !== null,
  );
  const steps = aperture.fNumber === fNumber ? [] : [`set f/${inWords(aperture.fNumber)}`];
  if (least.value <= most.value) {
    const exposureMs = Math.min(most.value, Math.max(least.value, station.controls.exposureMs));
    steps.push(`set the exposure to ${inWords(exposureMs, 'ms')}`);
    return advice(opening, steps, aperture.instead);
  }
  const dimmed = upper.reduce((a, b) => (b.value < a.value ? b : a), saturation);
  if (least.value > saturation.value) {
    const exposureMs = Math.min(dimmed.value, saturation.value);
    const frames = Math.ceil((least.value / saturation.value) * (1 - 1e-9));
    const brighter = saturation.value / exposureMs;
    const light = brighter > 1.05 ? `, give ${inWords(brighter, '', 2)} times the light` : '';
    steps.push(
      `set the exposure to ${inWords(exposureMs, 'ms')}${light} and average ${frames} frames, or take a sensor with a larger full well: in one frame white saturates before the signal-to-noise ratio is reached`,
    );
    return advice(opening, steps, aperture.instead);
  }
  const factor = least.value / dimmed.value;
  steps.push(`set the exposure to ${inWords(dimmed.value, 'ms')} and give ${inWords(factor, '', 2)} times the light`);
  return advice(opening, steps, aperture.instead);
}

const advice = (opening: readonly string[], steps: readonly string[], instead: string | null): string =>
  `${opening.length > 0 ? `limits collide: ${opening.join('; ')}. Together: ` : 'together: '}${steps.join(', ')}${instead === null ? '' : `, and ${instead}`}`;

const exposureCollision = (least: Limit, most: Limit, fNumber: number): string | null =>
  least.value <= most.value
    ? null
    : `${least.by} needs an exposure of ${inWords(least.value, 'ms')} at f/${inWords(fNumber)} in the light as it is, ${most.by} allows ${inWords(most.value, 'ms')}`;

/** What the rows ask of one dial in one direction, where they say how far. */
function limitsOf(open: readonly PlanRow[], dial: Wish['dial'], direction: Wish['direction']): Limit[] {
  return open.flatMap(({ wishes = [] }) =>
    wishes.flatMap((wish) =>
      wish.dial === dial && wish.direction === direction && wish.value !== undefined
        ? [{ by: wish.by, value: wish.value }]
        : [],
    ),
  );
}

/** The f-number that the rows can agree on. Rows that could be helped by light as well do not count as asking for a wider aperture. */
function jointFNumber(
  station: Station,
  open: readonly PlanRow[],
): { fNumber: number; collision: string | null; instead: string | null } {
  const onlyAperture = open.filter(({ wishes = [] }) => wishes.every(({ dial }) => dial === 'fNumber'));
  const closing = limitsOf(open, 'fNumber', 'up');
  const opening = limitsOf(onlyAperture, 'fNumber', 'down');
  const { fNumber } = station.layout;
  const close = closing.reduce((a, b) => (b.value > a.value ? b : a), { by: '', value: fNumber });
  const wide = opening.reduce((a, b) => (b.value < a.value ? b : a), { by: '', value: fNumber });
  if (closing.length > 0 && opening.length > 0) {
    return {
      fNumber,
      collision: `${close.by} needs f/${inWords(close.value)} or more, ${wide.by} f/${inWords(wide.value)} or less`,
      instead:
        'leave the aperture: no f-number does both; take a greater magnification, a lens whose focus repeats better, or closed-loop autofocus',
    };
  }
  if (opening.length > 0) {
    return { fNumber: Math.max(station.parts.fixedLens.fNumberMin, wide.value), collision: null, instead: null };
  }
  return { fNumber: close.value, collision: null, instead: null };
}
