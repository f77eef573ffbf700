import { expect, vi } from 'vitest';

/** Tests over the wire run in real time on cores that they share; where CI is set, they alone are run once more when they fail. */
const isOverTheWire = /[\\/]tests[\\/]wire[\\/]/.test(expect.getState().testPath ?? '');
if (process.env['CI'] && isOverTheWire) vi.setConfig({ retry: 1 } as Parameters<typeof vi.setConfig>[0]);
