export { type NativeCall, type NativeDeclarer, NativeError, nativeDeclarer } from './native-call.js';
export { libraryPathVariable, loadNativeLibraries, type NativeLibraries, type Pointer } from './native-library.js';
