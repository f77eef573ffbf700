export { type NativeDeclarer, NativeError, nativeDeclarer } from './native-call.js';
export { libraryPathVariable, loadNativeLibraries, type Pointer } from './native-library.js';
