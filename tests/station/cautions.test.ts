import { describe, expect, it } from 'vitest';
import { connectionCautions, type Station, stationCautions } from '../../src/station/index.js';
import { demoStation } from './demo-stations.js';

const glaze = demoStation('glaze-line');
type Light = Station['parts']['light'];

/** The cautions of the pottery line with another light, or at another temperature. */
const withLight = (light: Partial<Light>) =>
  stationCautions({ ...glaze, parts: { ...glaze.parts, light: { ...glaze.parts.light, ...light } } }).join('\n');
const atHighest = (temperatureMaxDegC: number, warmUpDegC: number) =>
  stationCautions({
    ...glaze,
    task: { ...glaze.task, temperatureMaxDegC },
    rehearsal: { ...glaze.rehearsal, warmUpDegC },
  }).join('\n');

describe('stationCautions', () => {
  it.each([
    ['risk-group-1', /of risk group 1 \(IEC 62471\): no hazard in normal use/],
    ['risk-group-2', /of risk group 2 \(IEC 62471\): do not stare into it/],
    ['risk-group-3', /of risk group 3 \(IEC 62471\): hazardous even for a moment/],
    ['unknown', /risk group \(IEC 62471\) is not stated/],
  ] as const)('reference: IEC 62471, a light of %s is cautioned as such and as no other', (riskGroup, words) => {
    const text = withLight({ riskGroup });
    expect(text).toMatch(words);
    expect(text.match(/risk group/g)).toHaveLength(1);
  });

  it('degenerate: an exempt light has no caution', () => {
    expect(withLight({ riskGroup: 'exempt' })).not.toMatch(/risk group/);
  });

  it.each([
    [399, true],
    [400, false],
    [700, false],
    [701, true],
  ])('property: light of %d nm is hardly visible: %s', (wavelengthNm, invisible) => {
    expect(/hardly visible/.test(withLight({ wavelengthNm }))).toBe(invisible);
  });

  it.each([
    [37, 5.9, false],
    [37, 6, true],
    [43, 0, true],
    [42.9, 0, false],
  ])('property: housings at %d °C warmed by %d °C are cautioned from 43 °C on: %s', (highest, warmUp, hot) => {
    expect(/hot to touch/.test(atHighest(highest, warmUp))).toBe(hot);
  });

  it('property: moving machinery is always cautioned, in the last place', () => {
    expect(stationCautions(glaze).at(-1)).toMatch(/stop it and lock it out .*ISO 12100, IEC 60204-1/);
  });
});

describe('connectionCautions', () => {
  it('property: with a station its own, without one those that any may need; lens and supply in both', () => {
    expect(connectionCautions(glaze)).toEqual([
      ...stationCautions(glaze),
      expect.stringMatching(/datasheet.*IEEE 802\.3/),
    ]);
    for (const standard of ['IEC 62471', 'IEC 60825-1', 'ISO 12100', 'IEC 60204-1', 'ISO 13732-1', 'IEEE 802.3']) {
      expect(connectionCautions(null).join('\n')).toContain(standard);
    }
  });
});
