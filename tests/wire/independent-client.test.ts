import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { arvControl, arvStream, arvTool } from './aravis.js';
import { type ServedStation, serveStation } from './served-station.js';

// Aravis and its tools are a client that shares no line with the server.
describe('simulated station seen by an independent client', () => {
  let served: ServedStation;
  beforeAll(async () => {
    served = await serveStation({
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
      },
    });
  });
  afterAll(() => served.close());

  it('reference: is listed with its serial number and says that it is simulated', async () => {
    const list = await arvTool();
    expect(list).toContain(served.serialNumber);
    expect(list).toMatch(/Simulated glaze-line/);
  });

  it('reference: features, units, bounds and access are read as the station has them', async () => {
    const values = await arvTool('-a', served.address, 'values');
    for (const line of [
      "Float        : [RW] 'FocalPower' = 0 dpt",
      "Float        : [RO] 'OpticControllerTemperature' = ",
      "Enumeration  : [RO] 'OpticControllerStatus' = 'Ready'",
      "Integer      : [RW] 'FocusStepper' = 600",
      "Float        : [RW] 'ExposureTime' = 600 us",
      "Float        : [RO] 'SensorPixelWidth' = 4.8 um",
      "Float        : [RW] 'TargetDistance' = 442.5 mm",
      "Integer      : [RO] 'PayloadSize' = 81920 B",
    ])
      expect(values).toContain(line);
    expect(await arvControl(served.address, 'FocalPower')).toEqual(['FocalPower = 0 dpt min:-2 max:3 inc:0.005']);
  });

  it('reference: a power is written in dioptres or steps, rounded to the control step, and read back', async () => {
    expect(
      await arvControl(served.address, 'FocalPower=1.5021', 'FocusStepper', 'FocusStepper=1000', 'FocalPower'),
    ).toEqual([
      'FocalPower = 1.5 dpt min:-2 max:3 inc:0.005',
      'FocusStepper = 300 min:0 max:1000',
      'FocusStepper = 1000 min:0 max:1000',
      'FocalPower = -2 dpt min:-2 max:3 inc:0.005',
    ]);
  });

  it('refuses numbers outside their range and numbers that are none, and counts them', async () => {
    const before = await arvControl(served.address, 'OutOfRangeWriteCount');
    expect(before[0]).toMatch(/= 0 /);
    const said = await arvControl(
      served.address,
      'FocalPower=1',
      'FocalPower=99',
      'FocalPower=nan',
      'FocalPower=inf',
      'ExposureTime=0.1',
      'FocalPower',
      'OutOfRangeWriteCount',
    );
    expect(said.filter((text) => text.includes('invalid-parameter'))).toHaveLength(4);
    expect(said.at(-2)).toMatch(/^FocalPower = 1 dpt/);
    expect(said.at(-1)).toMatch(/= 4 /);
  });

  it('reference: frames arrive whole, by themselves, in a region, and by software trigger', async () => {
    // Few frames a second for a longer time, so that a busy machine takes them all the same.
    const free = await arvStream(served.address, '--frequency', '10');
    expect(free.completed_buffers).toBeGreaterThan(10);
    expect(free.failures).toBeLessThan(0.2 * free.completed_buffers!);
    const region = await arvStream(
      served.address,
      '--width',
      '160',
      '--height',
      '100',
      '--frequency',
      '10',
      '--gv-packet-size',
      '1400',
    );
    expect(region.completed_buffers).toBeGreaterThan(10);
    expect(region.transferred_bytes! / region.completed_buffers!).toBeGreaterThan(16_000);
    expect(region.transferred_bytes! / region.completed_buffers!).toBeLessThan(20_000);
    const triggered = await arvStream(served.address, '--software-trigger', '5');
    expect(triggered.completed_buffers).toBeGreaterThan(8);
    expect(triggered.completed_buffers).toBeLessThan(25);
  });
});
