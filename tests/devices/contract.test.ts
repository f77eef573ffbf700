import { readFileSync } from 'node:fs';
import { openRecordedBench } from '../../src/drivers/index.js';
import { readStation } from '../../src/station/index.js';
import { createSimulatedBench } from '../../src/twin/index.js';
import { contractSuite } from './contract-suite.js';

const station = readStation(readFileSync('stations/glaze-line.yaml', 'utf8'), { fileName: 'glaze-line.yaml' });

contractSuite('recorded frames', () => openRecordedBench('references/recorded-frames'));
contractSuite('simulated station', async () => createSimulatedBench({ station, seed: 3 }));
