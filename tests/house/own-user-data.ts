import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';

// No test reads or writes what the program keeps for the person whose machine this is.
const folder = mkdtempSync(join(tmpdir(), 'focuswright-data-'));
process.env.FOCUSWRIGHT_DATA = folder;
afterAll(() => rmSync(folder, { recursive: true, force: true }));
