import { modelFocus, runFocusSearch, stationFocusOptics } from '../src/procedures/index.js';
import { lensResponseOf } from '../bench/focus-suite/lens-response.js';
import { runSuite, suiteCases, isRight } from '../bench/focus-suite/run-suite.js';
import { suiteTable } from '../bench/focus-suite/suite-table.js';
import { caseKinds } from '../bench/focus-suite/case-kinds.js';
const [every='12', kindsArg='all', mode='known', offsetArg='0'] = process.argv.slice(2);
const kinds = kindsArg==='all'?caseKinds:kindsArg==='refuse'?caseKinds.slice(5):kindsArg.split(',') as any;
let cases = suiteCases({ every: 1, kinds });
const by: Record<string,number> = {};
cases = cases.filter(c=>{ const i = by[c.kind] = (by[c.kind]??-1)+1; return i % +every === +offsetArg % +every; });
const f=(x:number|null|undefined,d=3)=>x==null?'-':x.toFixed(d);
const t0=Date.now();
const out = await runSuite({cases, runners:{[mode]:(c:any,camera:any)=>runFocusSearch({camera,region:c.region,response:lensResponseOf(c),method:modelFocus({optics:mode==='known'?stationFocusOptics(c.station):null})})},
 onOutcome:(name,o)=>{ const {focusCase:c,result:r}=o as any; const ok=isRight(o); const sw=(c as any).sphericalWaves;
  console.log(`${ok?'ok ':'BAD'} ${c.kind}#${c.index} ${c.scene} lev ${f(c.meanLevels,0)} h ${f(c.halfWidthDpt)} best ${f(c.bestPowerDpt,2)} hyst ${f(c.station.parts.tunableLens.hysteresisDpt/c.halfWidthDpt,1)}h b ${c.sphericalWaves??''} | ${r.kind} ${r.reason??''} err ${f(o.errorHalfWidths,2)} bound ${f(o.boundHalfWidths,3)} std ${r.kind==='found'?f(r.focalPowerStdDpt/c.halfWidthDpt,2):''} p ${f(r.probabilityInFocus,3)} frames ${r.frames} t ${f(r.elapsedMs,0)} cpu ${f(o.searchMs,0)} | ${r.probes.map((p:any)=>((p.focalPowerDpt-c.bestPowerDpt)/c.halfWidthDpt).toFixed(1)).join(' ')} ${r.message??''}`);
 }});
console.log(suiteTable(mode, out[mode]!));
console.log('wall',(Date.now()-t0)/1000);
