/** The part of the standard WebAssembly interface (W3C core, JavaScript embedding) that the pure rows use. */
declare namespace WebAssembly {
  interface MemoryDescriptor {
    initial: number;
    maximum?: number;
    shared?: boolean;
  }

  class Memory {
    constructor(descriptor: MemoryDescriptor);
    readonly buffer: ArrayBuffer;
    grow(pages: number): number;
  }

  class Module {
    constructor(bytes: ArrayBuffer | ArrayBufferView<ArrayBuffer>);
  }

  class Instance {
    constructor(module: Module, imports?: Record<string, Record<string, unknown>>);
    readonly exports: Record<string, unknown>;
  }
}
