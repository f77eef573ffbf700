import { type Bench, recordRun, wrapCamera } from '../devices/index.js';
import { recordingFile } from '../drivers/index.js';
import { createHandoverFolder } from '../store/index.js';

/** Keeps what a search asks of its bench and what it sees. */
export interface FocusRecorder {
  readonly folder: string;
  /** The bench to search on, from its opening on. */
  wrap(bench: Bench): Bench;
  /** Closes the folder: what came out (null: the search did not end), all calls, the table of frames and the hashes. */
  end(result: object | null): Promise<void>;
}

/**
 * Records a search for focus in a new folder, so that `replay:DIR` answers the same search again.
 *
 * Model    every frame is kept as TIFF, every call with its answer in recording.json; frames of a target that was placed stand in
 *          frames.csv too
 * Throws   `output-exists`, `output-not-writable`.
 */
export async function focusRecorder(path: string): Promise<FocusRecorder> {
  const folder = await createHandoverFolder(path);
  let recorded: ReturnType<typeof recordRun<typeof folder>> | null = null;
  return {
    folder: folder.path,
    wrap(bench) {
      recorded = recordRun({ bench, evidence: folder });
      const { camera, stage } = recorded.bench;
      const { evidence } = recorded;
      return {
        camera: wrapCamera(camera, {
          async grab(options) {
            const frame = await camera.grab(options);
            await evidence.keepFrame(frame, `focus-${frame.focalPowerDpt.toFixed(3)}dpt`);
            return frame;
          },
        }),
        stage: {
          distancesMm: stage.distancesMm,
          async placeTarget(request) {
            const workingDistanceMm = await stage.placeTarget(request);
            folder.atDistance(workingDistanceMm);
            return workingDistanceMm;
          },
        },
      };
    },
    async end(result) {
      if (recorded) await folder.keepText(recordingFile, `${JSON.stringify(recorded.recording)}\n`);
      if (result) await folder.keepText('results.json', `${JSON.stringify(result, null, 1)}\n`);
      await folder.end();
    },
  };
}
