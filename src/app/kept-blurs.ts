import { z } from 'zod';
import type { CameraIdentity } from '../devices/index.js';
import type { KeptBlur } from '../station/index.js';
import { readUserData, writeUserData } from '../store/index.js';

const fileName = 'learned-optics.json';

const keptBlur = z.object({
  cutoffPerPx: z.number().positive(),
  blurRadiusPerDptPx: z.number().positive(),
  blurRadiusLogStd: z.number().positive(),
  runCount: z.int().min(1),
});
const file = z.object({ format: z.literal(1), cameras: z.record(z.string(), keptBlur) });

/** Camera and lens by their serial numbers; what they are called where they tell none. */
const keyOf = ({ id, serialNumber, lensModel, lensSerialNumber }: CameraIdentity): string =>
  `${serialNumber ?? id} / ${lensSerialNumber ?? lensModel}`;

async function camerasKept(): Promise<Record<string, KeptBlur>> {
  const read = file.safeParse(await readUserData(fileName));
  return read.success ? read.data.cameras : {};
}

/** The blur scale that earlier runs have learned of a camera; null: none. */
export async function keptBlurOf(camera: CameraIdentity): Promise<KeptBlur | null> {
  return (await camerasKept())[keyOf(camera)] ?? null;
}

/** Keeps the blur scale of a camera, or forgets it. Returns false where the user's data cannot be written. */
export async function keepBlurOf(camera: CameraIdentity, kept: KeptBlur | null): Promise<boolean> {
  // Read anew: another run may have kept that of another camera meanwhile.
  const { [keyOf(camera)]: before, ...others } = await camerasKept();
  if (kept === null && before === undefined) return true;
  const cameras = kept === null ? others : { ...others, [keyOf(camera)]: kept };
  return writeUserData(fileName, { format: 1, cameras }).then(
    () => true,
    () => false,
  );
}
