export { openRecordedBench } from './recorded/recorded-bench.js';
