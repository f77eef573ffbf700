import { type CancelSignal, neverCancelled, throwIfCancelled } from '../base/index.js';
import { focusStrategyRows, predictFocusStrategy, strategyLevelsDn } from '../planning/index.js';
import { runFocusSearch, stationLensResponse } from '../procedures/index.js';
import type { FocusMethodName, FocusMethodScore, FocusStrategyRecord, Station } from '../station/index.js';
import { focusMethodOf } from './focus-method.js';
import type { LoadedStation } from './load-station.js';
import { type FocusScene, simulatedFocusScene } from './simulated-focus-scenes.js';
import { softwareVersion } from './version.js';

/** A lens within this share of the depth-of-field half-width of best focus is in focus. */
const rightWithin = 0.5;

interface Outcome {
  meanLevelDn: number;
  right: boolean;
  refused: boolean;
  frames: number;
  elapsedMs: number;
}

/**
 * Which search for focus suits a station: the prediction over the light, and every method tried on seeded scenes of the
 * simulated station.
 *
 * Throws   `cancelled`.
 */
export async function runFocusStrategy(
  { station, sha256 }: Pick<LoadedStation, 'station' | 'sha256'>,
  {
    sceneCount,
    seed,
    methods,
    onProgress,
    signal = neverCancelled,
  }: {
    sceneCount: number;
    seed: number;
    methods: readonly FocusMethodName[];
    onProgress?: (doneCount: number) => void;
    signal?: CancelSignal;
  },
): Promise<FocusStrategyRecord> {
  const prediction = predictFocusStrategy(station);
  const outcomes = new Map<FocusMethodName, Outcome[]>(methods.map((name) => [name, []]));
  let tried = 0;
  for (let index = 0; index < sceneCount && prediction !== null; index++) {
    await new Promise((resolve) => setImmediate(resolve));
    throwIfCancelled(signal, 'trying searches on simulated scenes');
    const scene = simulatedFocusScene(station, { seed, index });
    if (scene !== null) {
      tried++;
      for (const name of methods) outcomes.get(name)!.push(await trySearch(station, scene, name));
    }
    onProgress?.(index + 1);
  }
  const scores = [...outcomes].flatMap(([method, held]) => (held.length === 0 ? [] : [scoreOf(method, held)]));
  return {
    kind: 'focus-strategy',
    station: station.station,
    invented: station.invented,
    stationSha256: sha256,
    softwareVersion,
    seed,
    sceneCount: tried,
    prediction,
    methods: scores,
    ledger: focusStrategyRows({ station, prediction, methods: scores }),
  };
}

async function trySearch(station: Station, scene: FocusScene, name: FocusMethodName): Promise<Outcome> {
  const { camera } = scene.bench;
  await camera.park();
  await camera.clock.sleep(1000);
  const result = await runFocusSearch({
    camera,
    method: focusMethodOf(name, { station }),
    region: scene.region,
    response: stationLensResponse(station),
  });
  const { frames, elapsedMs, kind } = result;
  const right = kind === 'found' && Math.abs(await scene.errorHalfWidths()) <= rightWithin;
  return { meanLevelDn: scene.meanLevelDn, right, refused: kind === 'refused', frames, elapsedMs };
}

function scoreOf(method: FocusMethodName, held: readonly Outcome[]): FocusMethodScore {
  const countOf = (list: readonly Outcome[], is: (outcome: Outcome) => boolean) => list.filter(is).length;
  const quantile = (values: number[], share: number) =>
    [...values].sort((a, b) => a - b)[Math.max(0, Math.ceil(share * values.length) - 1)]!;
  const frames = held.map((outcome) => outcome.frames);
  const times = held.map((outcome) => outcome.elapsedMs);
  return {
    method,
    sceneCount: held.length,
    rightCount: countOf(held, ({ right }) => right),
    refusedCount: countOf(held, ({ refused }) => refused),
    medianFrameCount: quantile(frames, 0.5),
    ninetyFifthFrameCount: quantile(frames, 0.95),
    timeMedianMs: quantile(times, 0.5),
    timeNinetyFifthMs: quantile(times, 0.95),
    byLight: strategyLevelsDn.flatMap((meanLevelDn) => {
      const at = held.filter((outcome) => outcome.meanLevelDn === meanLevelDn);
      return at.length === 0
        ? []
        : [{ meanLevelDn, sceneCount: at.length, rightCount: countOf(at, ({ right }) => right) }];
    }),
  };
}
