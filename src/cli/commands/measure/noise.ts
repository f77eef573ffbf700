import type { Command } from 'commander';
import { compareSensor, loadStation, readNoiseLevels, softwareVersion } from '../../../app/index.js';
import { photonTransfer, type Region } from '../../../image/index.js';
import { exitCodes } from '../../exit-codes.js';
import { cancelOnInterrupt } from '../../interrupt.js';
import { writeResult } from '../../output.js';
import { type BayerOptions, bayerOf, withBayer, withRoi } from './image-options.js';
import { noiseText } from './noise-text.js';

interface NoiseOptions extends BayerOptions {
  roi?: Region;
  station?: string;
  json?: boolean;
}

/** `focuswright measure noise DIR|FILES` */
export function addMeasureNoise(measure: Command): void {
  const command = measure
    .command('noise')
    .summary('gain, read noise, full well and non-uniformity of a camera from repeated frames')
    .description(
      'The photon transfer method of EMVA 1288: at least two frames at each of several levels of even light, defocused, and in the dark. DIR holds the frames and frames.csv with the columns file, exposureMs, light (on or off) and, where something else was changed, level. Image files without a table make levels in pairs, in their order; a TIFF of several pages is a level. With a station its sensor stands beside what was measured.',
    )
    .argument('<path...>', 'folder with frames.csv, or image files')
    .option('--station <station>', 'station file, or the name of a demonstration station, to compare with')
    .option('--json', 'write the whole record as JSON');
  withBayer(withRoi(command)).action(async (paths: string[], options: NoiseOptions) => {
    const station = options.station === undefined ? null : await loadStation(options.station);
    const interrupt = cancelOnInterrupt('cancelling …');
    try {
      const { levels, ...source } = await readNoiseLevels(paths, {
        region: options.roi,
        bayer: bayerOf(options),
        signal: interrupt.signal,
      });
      const result = photonTransfer(levels);
      const comparison =
        station && result.kind === 'measured'
          ? compareSensor({ sensor: station.station.parts.sensor, measured: result, bitDepth: source.bitDepth })
          : null;
      const stationRecord = station && { station: station.station.station, stationSha256: station.sha256 };
      const record = { file: paths[0], softwareVersion, ...result, ...source, levels, ...stationRecord, comparison };
      writeResult(record, { json: options.json, text: () => noiseText({ paths, source, levels, result, comparison }) });
      if (result.kind === 'refused') process.exitCode = exitCodes.refused.code;
    } finally {
      interrupt.release();
    }
  });
}
