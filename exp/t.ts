import { ringBlurTable, ringSpectrometer, sceneLikelihood } from '../src/image/index.js';
import { spectrumRings } from '../src/image/defocus/spectrum-rings.js';
let t=performance.now();
const rings=spectrumRings({widthPx:256,heightPx:256}); console.log('rings',performance.now()-t, rings.frequenciesPerPx.length, rings.samples.flat().length); t=performance.now();
const tb=ringBlurTable({rings,cutoffPerPx:1.1,maxBlurRadiusPx:140}); console.log('table',performance.now()-t); t=performance.now();
ringBlurTable({rings,cutoffPerPx:0.9,maxBlurRadiusPx:140}); console.log('table again',performance.now()-t);
console.log([...rings.frequenciesPerPx].map(x=>x.toFixed(3)).join(' ')); console.log([...rings.coefficientCounts].map(x=>x.toFixed(0)).join(' '));
const lk=sceneLikelihood(rings);
const n=rings.frequenciesPerPx.length; const sh=[0,5,12].map(R=>{const s=new Float64Array(n); tb.read({blurRadiusPx:R,blurRadiusStdPx:.15},s); return s;});
const fr=sh.map(s=>({powersDn2:s.map((x,i)=>1e3*x*(rings.frequenciesPerPx[i]/.1)**-2.4+1),coefficientCounts:rings.coefficientCounts,noiseDn2:1}));
for(let k=0;k<5;k++){t=performance.now(); for(let i=0;i<2000;i++) lk.fit(fr,sh,.08); console.log('fit µs',(performance.now()-t)/2);}
const sp=ringSpectrometer({widthPx:256,heightPx:256}); const img={widthPx:256,heightPx:256,bitDepth:8,data:Uint8Array.from({length:65536},(_,i)=>(i*2654435761>>>7)&255)} as any;
for(let k=0;k<5;k++){t=performance.now(); for(let i=0;i<50;i++) sp.measure(img,{xPx:0,yPx:0}); console.log('spec ms',(performance.now()-t)/50);}
