import { modelFocus, runFocusSearch, stationFocusOptics } from '../src/procedures/index.js';
import { lensResponseOf } from '../bench/focus-suite/lens-response.js';
import { runSuite } from '../bench/focus-suite/run-suite.js';
const [kind, idx, mode='known']=process.argv.slice(2);
for (const i of idx!.split(',')) await runSuite({cases:[{index:+i,kind:kind as any}],runners:{x:(c:any,camera:any)=>runFocusSearch({camera,region:c.region,response:lensResponseOf(c),method:modelFocus({optics:mode==='known'?stationFocusOptics(c.station):null})})},onOutcome:(n,o:any)=>console.log(i,o.focusCase.meanLevels.toFixed(1),o.result.kind,o.result.reason,o.errorHalfWidths,o.result.frames,(o.focusCase.bestPowerDpt).toFixed(3),o.focusCase.station.parts.sensor.bitDepth)});
