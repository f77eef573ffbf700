import { loadNativeLibraries } from '../aravis/index.js';
import { aravisCalls } from './calls.js';

/** Version of the library and what it was loaded from. Throws `device-library-missing`. */
export async function aravisVersion(): Promise<{ version: string; loadedFrom: string }> {
  const { version } = await aravisCalls();
  const { loadedFrom } = await loadNativeLibraries();
  return { version: version.map((part) => part()).join('.'), loadedFrom };
}
