import { aberratedOtfGrid } from '../src/optics/aberrated-otf-grid.js';
import { aberratedOtf } from '../src/optics/index.js';
for (const b of [0,.4,.4]) { let t=performance.now(); const g=aberratedOtfGrid({sphericalWaves:b}); console.log('fill',performance.now()-t);
 let worst=0; const fs=[.003,.01,.03,.07,.1,.2,.33,.5,.7,.9]; const p=g.place(fs); const o=new Float64Array(10);
 for (const d of [-30,-12,-5,-2.2,-1,-.3,0,.4,1,2,6,15,35]) { g.readAll(p,d,o); fs.forEach((s,i)=>{ const z=d*s*(1-s); const e=aberratedOtf({normalisedFrequency:s,defocusWaves:d-b,sphericalWaves:b}); const err=Math.abs(e-o[i]!); if(Math.abs(z)<3&&err>worst){worst=err;console.log(s,d,e,o[i]);} }); }
 console.log(b,'worst',worst);}
