export { NativeError, nativeDeclarer } from './native-call.js';
export { libraryPathVariable, loadNativeLibraries } from './native-library.js';
