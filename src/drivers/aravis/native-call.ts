import type { NativeLibraries, Pointer } from './native-library.js';

/** An error that Aravis or GLib reports, as its GError says it. */
export class NativeError extends Error {
  constructor(
    /** Name of the error domain, e.g. `arv-device-error-quark`. */
    readonly domain: string,
    readonly number: number,
    message: string,
  ) {
    super(message);
    this.name = 'NativeError';
  }
}

/** A function of the library: called at once on this thread, or `later` on a thread of the pool. */
export interface NativeCall<Args extends unknown[], Result> {
  (...args: Args): Result;
  later(...args: Args): Promise<Result>;
}

/** Where a function lies, and whether its last C argument is a GError**: that one is not given, and thrown. */
export interface CallOptions {
  from?: 'aravis' | 'gobject' | 'glib';
  fails?: boolean;
}

/** Declares a function by its name and C types; `Args` and `Result` are what they are in JavaScript. */
export type NativeDeclarer = <Args extends unknown[], Result>(
  name: string,
  result: string,
  args: readonly string[],
  options?: CallOptions,
) => NativeCall<Args, Result>;

/**
 * A way to declare C functions of the loaded libraries.
 *
 * Trust    the types are the caller's word; a wrong one crashes the process. Device calls block for as long as the wire
 *          does: use `later`, and never two at once on one camera.
 */
export function nativeDeclarer({ koffi, ...libraries }: NativeLibraries): NativeDeclarer {
  const gerror = koffi.struct({ domain: 'uint32', code: 'int', message: 'char *' });
  const quarkText = libraries.glib.func('g_quark_to_string', 'str', ['uint32']);
  const freeError = libraries.glib.func('g_error_free', 'void', ['void *']);
  const errorOut = koffi.out(koffi.pointer('void *'));

  /** Throws what the library has left in the out pointer. */
  function throwLeft(left: [Pointer | null]): void {
    if (left[0] === null) return;
    const { domain, code, message } = koffi.decode(left[0], gerror);
    freeError(left[0]);
    throw new NativeError(quarkText(domain) ?? String(domain), code, message);
  }

  return <Args extends unknown[], Result>(
    name: string,
    result: string,
    args: readonly string[],
    { from = 'aravis', fails = false }: CallOptions = {},
  ): NativeCall<Args, Result> => {
    const native = libraries[from].func(name, result, fails ? [...args, errorOut] : [...args]);
    const call = (...given: Args): Result => {
      if (!fails) return native(...given);
      const left: [Pointer | null] = [null];
      const answer = native(...given, left);
      throwLeft(left);
      return answer;
    };
    const later = (...given: Args) =>
      new Promise<Result>((resolve, reject) => {
        const left: [Pointer | null] = [null];
        native.async(...given, ...(fails ? [left] : []), (error: unknown, answer: Result) => {
          if (error) return reject(error);
          try {
            throwLeft(left);
            resolve(answer);
          } catch (thrown) {
            reject(thrown);
          }
        });
      });
    return Object.assign(call, { later });
  };
}
