import { afterEach, describe, expect, it, vi } from 'vitest';
import {
  libraryPathVariable,
  loadNativeLibraries,
  NativeError,
  nativeDeclarer,
} from '../../../src/drivers/aravis/index.js';

afterEach(() => vi.unstubAllEnvs());

describe('the Aravis library', () => {
  it('refuses with the names tried and the way to install it, where it is absent; and finds it later', async () => {
    vi.stubEnv(libraryPathVariable, '/nowhere/libaravis-0.8.so.0');
    await expect(loadNativeLibraries()).rejects.toMatchObject({
      code: 'device-library-missing',
      details: { tried: ['tried /nowhere/libaravis-0.8.so.0'] },
      remedy: expect.stringContaining('libaravis-0.8-0'),
    });
    vi.unstubAllEnvs();
    expect((await loadNativeLibraries()).loadedFrom).toContain('aravis');
  });

  it('closed form: a call returns its value, at once and later', async () => {
    const declare = nativeDeclarer(await loadNativeLibraries());
    const minor = declare<[], number>('arv_get_minor_version', 'uint', []);
    expect(minor()).toBe(8);
    expect(await minor.later()).toBe(8);
  });

  it('refuses what the library refuses: its error is thrown with domain and number', async () => {
    const declare = nativeDeclarer(await loadNativeLibraries());
    const open = declare<[string], bigint>('arv_camera_new', 'void *', ['str'], { fails: true });
    for (const opening of [async () => open('no such camera'), () => open.later('no such camera')]) {
      const error = await opening().catch((thrown: unknown) => thrown);
      expect(error).toBeInstanceOf(NativeError);
      expect(error).toMatchObject({ domain: 'arv-device-error-quark', number: 6 });
    }
  });
});
