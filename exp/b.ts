import { aberratedOtf, defocusOtf } from '../src/optics/index.js';
const b=0.3;
for (const a0 of [1,2,3,4,6,10]) for (const sg of [-1,1]) { const a=sg*a0-b;
 const ae=Math.sign(a+4*b/3)*Math.sqrt((a+4*b/3)**2+2*b*b/9);
 // mean of OTF^2 over windows of s
 let line='';
 for (const [lo,hi] of [[.01,.03],[.03,.06],[.06,.1],[.1,.15],[.15,.25],[.25,.4],[.4,.6]]) { let m=0,e=0,m0=0; const N=12; for(let i=0;i<N;i++){const s=lo!+(i+.5)*(hi!-lo!)/N; m+=aberratedOtf({normalisedFrequency:s,defocusWaves:a,sphericalWaves:b})**2; e+=defocusOtf({normalisedFrequency:s,defocusWaves:ae})**2; m0+=defocusOtf({normalisedFrequency:s,defocusWaves:sg*a0})**2;} line+=`  ${(m/N).toExponential(1)} ${(e/m-1).toFixed(2)} (${(m0/m-1).toFixed(2)})`;}
 console.log(sg*a0, line);
}
