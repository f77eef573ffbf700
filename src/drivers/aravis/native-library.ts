import { FocuswrightError } from '../../base/index.js';

type Koffi = typeof import('koffi');

/** An address in this process; null stands for NULL. */
export type Pointer = bigint;

/** Environment variable with the path of the Aravis library, where it lies in none of the usual places. */
export const libraryPathVariable = 'FOCUSWRIGHT_ARAVIS';

/** Names by platform, best first. Only the Linux ones were loaded in a test; the others follow the packages' naming. */
const aravisNames: Partial<Record<NodeJS.Platform, readonly string[]>> = {
  linux: ['libaravis-0.8.so.0', 'libaravis-0.8.so'],
  darwin: ['libaravis-0.8.0.dylib', '/opt/homebrew/lib/libaravis-0.8.0.dylib', '/usr/local/lib/libaravis-0.8.0.dylib'],
  win32: [
    'libaravis-0.8-0.dll',
    'C:/msys64/ucrt64/bin/libaravis-0.8-0.dll',
    'C:/msys64/mingw64/bin/libaravis-0.8-0.dll',
  ],
};
const gobjectNames: Partial<Record<NodeJS.Platform, readonly string[]>> = {
  linux: ['libgobject-2.0.so.0'],
  darwin: [
    'libgobject-2.0.0.dylib',
    '/opt/homebrew/lib/libgobject-2.0.0.dylib',
    '/usr/local/lib/libgobject-2.0.0.dylib',
  ],
  win32: [
    'libgobject-2.0-0.dll',
    'C:/msys64/ucrt64/bin/libgobject-2.0-0.dll',
    'C:/msys64/mingw64/bin/libgobject-2.0-0.dll',
  ],
};
const glibNames: Partial<Record<NodeJS.Platform, readonly string[]>> = {
  linux: ['libglib-2.0.so.0'],
  darwin: ['libglib-2.0.0.dylib', '/opt/homebrew/lib/libglib-2.0.0.dylib', '/usr/local/lib/libglib-2.0.0.dylib'],
  win32: ['libglib-2.0-0.dll', 'C:/msys64/ucrt64/bin/libglib-2.0-0.dll', 'C:/msys64/mingw64/bin/libglib-2.0-0.dll'],
};

/** Aravis with GLib and GObject, loaded into this process. */
export interface NativeLibraries {
  koffi: Koffi;
  aravis: ReturnType<Koffi['load']>;
  gobject: ReturnType<Koffi['load']>;
  glib: ReturnType<Koffi['load']>;
  /** Name or path that Aravis was loaded by. */
  loadedFrom: string;
}

let loading: Promise<NativeLibraries> | null = null;

/**
 * Loads Aravis when it is first asked for, and once.
 *
 * Throws   `device-library-missing` with the names that were tried; it may be asked again after the library was installed.
 */
export function loadNativeLibraries(): Promise<NativeLibraries> {
  loading ??= load().catch((error: unknown) => {
    loading = null;
    throw error;
  });
  return loading;
}

async function load(): Promise<NativeLibraries> {
  const own = process.env[libraryPathVariable];
  const names = own ? [own] : (aravisNames[process.platform] ?? []);
  const koffi = await import('koffi').catch((cause: unknown) => {
    throw missing(['koffi, the package that calls it, has no build for this platform'], cause);
  });
  const aravis = firstOf(koffi, names);
  const gobject = firstOf(koffi, gobjectNames[process.platform] ?? []);
  const glib = firstOf(koffi, glibNames[process.platform] ?? []);
  return { koffi, aravis: aravis.library, gobject: gobject.library, glib: glib.library, loadedFrom: aravis.name };
}

/** The first library of these that loads. koffi's own error names no file: ours tells them all. */
function firstOf(koffi: Koffi, names: readonly string[]): { library: ReturnType<Koffi['load']>; name: string } {
  let cause: unknown;
  for (const name of names) {
    try {
      return { library: koffi.load(name), name };
    } catch (error) {
      cause = error;
    }
  }
  throw missing(names, cause);
}

function missing(tried: readonly string[], cause: unknown): FocuswrightError {
  return new FocuswrightError(
    'device-library-missing',
    { platform: process.platform, tried: tried.map((name) => `tried ${name}`) },
    { cause },
  );
}
