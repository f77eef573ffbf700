import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

/** The web application: sources in src/web, built into dist/web, which the server hands out. */
export default defineConfig({
  root: 'src/web',
  base: './',
  plugins: [react()],
  build: { outDir: '../../dist/web', emptyOutDir: true, reportCompressedSize: false, chunkSizeWarningLimit: 1500 },
  server: { proxy: { '/api': { target: 'http://127.0.0.1:7340', ws: true } } },
  logLevel: 'warn',
});
