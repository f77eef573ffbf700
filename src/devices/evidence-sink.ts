import type { Frame } from './frame.js';

/** Where a running procedure leaves its frames: a handover folder on disk, or memory in a test. */
export interface EvidenceSink {
  /** Keeps a frame under a name made from `label`; returns the name and the SHA-256 of what was written. */
  keepFrame(frame: Frame, label: string): Promise<{ file: string; sha256: string }>;
}
