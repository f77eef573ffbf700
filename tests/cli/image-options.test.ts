import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import { imageCommand, parseRoi, withRoi } from '../../src/cli/commands/measure/image-options.js';

describe('options of measurements on images', () => {
  it('property: --roi is read in whole pixels, with spaces or without', () => {
    const region = { xPx: 4, yPx: 0, widthPx: 20, heightPx: 30 };
    expect(parseRoi('4,0,20,30')).toEqual(region);
    expect(parseRoi(' 4, 0, 20, 30 ')).toEqual(region);
    const command = withRoi(imageCommand(new Command(), 'anything')).action(() => {});
    command.parse(['a.png', '--roi', '4,0,20,30', '--page', '2'], { from: 'user' });
    expect(command.opts()).toEqual({ roi: region, page: 2 });
  });

  it.each(['', '1,2,3', '1,2,3,4,5', '1,2,3,x', '1.5,2,3,4', '-1,2,3,4', '1,2,0,4', '1,2,1e9,4', '0x1,2,3,4'])(
    'refuses --roi %j',
    (text) => {
      expect(() => parseRoi(text)).toThrow(/x,y,w,h/);
    },
  );
});
