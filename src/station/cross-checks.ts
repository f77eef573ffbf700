/**
 * What one value of a station file says about another. Works on files that are not yet whole: a rule whose values are
 * missing or not numbers says nothing, so that all mistakes of a file can be listed at once.
 */
export interface CrossCheckIssue {
  path: (string | number)[];
  input: unknown;
  /** What the value must be, in words: follows "task.farMm is 300; ". */
  message: string;
}

/** Every relation between values that does not hold. */
export function crossCheckIssues(station: unknown): CrossCheckIssue[] {
  const issues: CrossCheckIssue[] = [];
  const check = (path: string, ok: (value: number) => boolean, message: string) => {
    const value = numberAt(station, path);
    if (value !== undefined && !ok(value)) issues.push({ path: pathOf(path), input: value, message });
  };
  const at = (path: string) => numberAt(station, path);

  const near = at('task.nearMm');
  const far = at('task.farMm');
  if (near !== undefined) {
    check('task.farMm', (v) => v > near, `must be greater than nearMm (${near} mm); are the two swapped?`);
  }
  if (near !== undefined && far !== undefined && near < far) {
    listAt(station, 'task.planesMm').forEach((_, i) => {
      check(
        `task.planesMm.${i}`,
        (v) => v >= near && v <= far,
        `must lie between nearMm and farMm (${near} … ${far} mm)`,
      );
    });
  }
  const coldest = at('task.temperatureMinDegC');
  if (coldest !== undefined) {
    const message = `must not be less than temperatureMinDegC (${coldest} °C); are the two swapped?`;
    check('task.temperatureMaxDegC', (v) => v >= coldest, message);
  }
  lensLimits(at, check);
  lightValues(station, at, check, issues);
  fixedLensLimits(station, at, check, issues);
  listAt(station, 'commissioning.targetDistancesMm').forEach((_, i) => {
    const before = at(`commissioning.targetDistancesMm.${i - 1}`);
    if (before === undefined) return;
    const message = `must be greater than the distance before it (${before} mm)`;
    check(`commissioning.targetDistancesMm.${i}`, (v) => v > before, message);
  });
  return issues;
}

type At = (path: string) => number | undefined;
type Check = (path: string, ok: (value: number) => boolean, message: string) => void;

function lensLimits(at: At, check: Check): void {
  const lensMin = at('parts.tunableLens.powerMinDpt');
  const lensMax = at('parts.tunableLens.powerMaxDpt');
  if (lensMin !== undefined) {
    const message = `must be greater than powerMinDpt (${lensMin} dpt); are the two swapped?`;
    check('parts.tunableLens.powerMaxDpt', (v) => v > lensMin, message);
    check('controls.powerMinDpt', (v) => v >= lensMin, `must not be below the lens’s own limit (${lensMin} dpt)`);
  }
  if (lensMax !== undefined) {
    check('controls.powerMaxDpt', (v) => v <= lensMax, `must not be above the lens’s own limit (${lensMax} dpt)`);
  }
  const min = at('controls.powerMinDpt') ?? lensMin;
  const max = at('controls.powerMaxDpt') ?? lensMax;
  if (min === undefined || max === undefined) return;
  const swapped = (other: number, word: string) =>
    `must be ${word} the other limit (${other} dpt); are the two swapped?`;
  if (at('controls.powerMaxDpt') !== undefined)
    check('controls.powerMaxDpt', (v) => v > min, swapped(min, 'greater than'));
  else check('controls.powerMinDpt', (v) => v < max, swapped(max, 'less than'));
  check(
    'controls.parkPowerDpt',
    (v) => v >= min && v <= max,
    `must lie inside the station’s limits (${min} … ${max} dpt)`,
  );
}

function lightValues(station: unknown, at: At, check: Check, issues: CrossCheckIssue[]): void {
  if (typeof valueAt(station, 'parts.light') !== 'object') return;
  const stated = valueAt(station, 'parts.light.sensorIrradianceUwPerCm2');
  const measured = valueAt(station, 'parts.light.measured');
  if (stated === undefined && measured === undefined) {
    const message = 'is needed, or measured: mean grey value and exposure time of one frame';
    issues.push({ path: ['parts', 'light', 'sensorIrradianceUwPerCm2'], input: undefined, message });
  }
  if (stated !== undefined && measured !== undefined) {
    const message = 'stands beside sensorIrradianceUwPerCm2, which says the same; keep one of the two';
    issues.push({ path: ['parts', 'light', 'measured'], input: measured, message });
  }
  const darkDn = at('parts.sensor.blackLevelDn') ?? 2;
  const [gain, wellE, bits] = ['gainDnPerE', 'fullWellE', 'bitDepth'].map((key) => at(`parts.sensor.${key}`));
  if (gain === undefined || wellE === undefined || bits === undefined) return;
  const saturationDn = Math.min(darkDn + gain * wellE, 2 ** bits - 1);
  check(
    'parts.light.measured.meanGreyDn',
    (v) => v > darkDn && v < saturationDn,
    `must lie between the black level and saturation (${darkDn} … ${saturationDn} DN)`,
  );
}

function fixedLensLimits(station: unknown, at: At, check: Check, issues: CrossCheckIssue[]): void {
  const widest = at('parts.fixedLens.fNumberMin');
  const narrowest = at('parts.fixedLens.fNumberMax');
  if (widest !== undefined) {
    const message = `must not be less than fNumberMin (${widest}); are the two swapped?`;
    check('parts.fixedLens.fNumberMax', (v) => v >= widest, message);
  }
  if (widest !== undefined && narrowest !== undefined && widest <= narrowest) {
    const message = `must lie inside the fixed lens’s range (${widest} … ${narrowest})`;
    check('layout.fNumber', (v) => v >= widest && v <= narrowest, message);
  }
  const focalLengthMm = at('parts.fixedLens.focalLengthMm');
  if (focalLengthMm !== undefined) {
    const message = `must be greater than the fixed lens’s focal length (${focalLengthMm} mm): nearer, it forms no image`;
    check('layout.ringDistanceMm', (v) => v > focalLengthMm, message);
  }
  if (valueAt(station, 'layout.tunableLensAt') !== 'at-stop') return;
  if (
    typeof valueAt(station, 'parts.fixedLens') === 'object' &&
    valueAt(station, 'parts.fixedLens.groups') === undefined
  ) {
    const message = 'is needed when tunableLensAt is at-stop: the two groups on either side of the stop';
    issues.push({ path: ['parts', 'fixedLens', 'groups'], input: undefined, message });
  }
  check(
    'layout.gapMm',
    (v) => v === 0,
    'must be 0 mm when tunableLensAt is at-stop: the groups of the fixed lens place it',
  );
}

const pathOf = (path: string) => path.split('.').map((key) => (/^\d+$/.test(key) ? Number(key) : key));

function valueAt(value: unknown, path: string): unknown {
  return pathOf(path).reduce<unknown>(
    (at, key) =>
      typeof at === 'object' && at !== null && Object.hasOwn(at, key)
        ? (at as Record<string | number, unknown>)[key]
        : undefined,
    value,
  );
}

function numberAt(value: unknown, path: string): number | undefined {
  const found = valueAt(value, path);
  return typeof found === 'number' && Number.isFinite(found) ? found : undefined;
}

function listAt(value: unknown, path: string): unknown[] {
  const found = valueAt(value, path);
  return Array.isArray(found) ? found : [];
}
