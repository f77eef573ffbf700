import { PassThrough } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { drawnDistances, partsByInputLine, partsByLine } from '../../src/app/part-triggers.js';
import { FocuswrightError } from '../../src/base/index.js';
import { type CameraSettings, wrapCamera } from '../../src/devices/index.js';
import { createSimulatedBench } from '../../src/twin/index.js';
import { smallStation } from '../twin/small-station.js';

describe('triggers of parts', () => {
  it('property: a line is a part, a number on it its distance; the end of the stream is the end', async () => {
    const input = new PassThrough();
    const { nextPart } = partsByLine(input, { aborted: false });
    input.write('412.5\n\n');
    expect(await nextPart(1)).toEqual({ workingDistanceMm: 412.5 });
    expect(await nextPart(2)).toEqual({ workingDistanceMm: null });
    const waiting = nextPart(3);
    input.end(' 500 \n');
    expect(await waiting).toEqual({ workingDistanceMm: 500 });
    expect(await nextPart(4)).toBeNull();
  });

  it.each(['x', '-3', '0', '1e9', '3,4'])('refuses the line %j', async (line) => {
    const input = new PassThrough();
    input.end(`${line}\n`);
    await expect(partsByLine(input, { aborted: false }).nextPart(7)).rejects.toMatchObject({
      code: 'part-line-invalid',
      details: { part: 7 },
    });
  });

  it('property: who waits for a line is woken by a cancel', async () => {
    const signal = { aborted: false };
    const waiting = partsByLine(new PassThrough(), signal).nextPart(1);
    signal.aborted = true;
    await expect(waiting).rejects.toMatchObject({ code: 'cancelled' });
  });

  it('property: a frame on the input line is a part; frames that do not come are waited for; then frames are taken by software', async () => {
    const { camera } = createSimulatedBench({ station: smallStation });
    const triggers: CameraSettings['trigger'][] = [];
    let asked = 0;
    const onLine = wrapCamera(camera, {
      async configure(wanted) {
        triggers.push(wanted.trigger!);
        return camera.configure({});
      },
      async grab() {
        if (++asked < 3) throw new FocuswrightError('frame-lost');
        return camera.grab();
      },
    });
    const next = partsByInputLine(onLine, { line: 'Line1', signal: { aborted: false } });
    expect(await next(1)).toEqual({ workingDistanceMm: null });
    expect(asked).toBe(3);
    expect(triggers).toEqual([{ line: 'Line1' }, 'software']);
    const cancelled = partsByInputLine(onLine, { line: 'Line1', signal: { aborted: true } });
    await expect(cancelled(2)).rejects.toMatchObject({ code: 'cancelled' });
    expect(triggers.at(-1)).toBe('software');
  });

  it('property: drawn distances lie between near and far and depend on seed and number alone', () => {
    const of = (seed: number) => drawnDistances({ nearMm: 340, farMm: 540, seed });
    const drawn = Array.from({ length: 200 }, (_, i) => of(4)(i + 1));
    expect(Math.min(...drawn)).toBeGreaterThanOrEqual(340);
    expect(Math.max(...drawn)).toBeLessThanOrEqual(540);
    expect(new Set(drawn).size).toBeGreaterThan(190);
    expect(of(4)(7)).toBe(drawn[6]);
    expect(of(5)(7)).not.toBe(drawn[6]);
  });
});
