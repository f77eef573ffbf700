import { ringBlurTable } from '../src/image/index.js';
import { spectrumRings } from '../src/image/defocus/spectrum-rings.js';
const cpu=()=>{const u=process.cpuUsage();return (u.user+u.system)/1000};
const rings=spectrumRings({widthPx:256,heightPx:256});
for (const c of [1.1,.9,1.1,.9,.5,1.7,1.1]) {let t=cpu(); const tb=ringBlurTable({rings,cutoffPerPx:c,maxBlurRadiusPx:140}); console.log('table',c,(cpu()-t).toFixed(0)); t=cpu(); const sh=new Float64Array(26); tb.read({blurRadiusPx:3,blurRadiusStdPx:.15,sphericalWaves:.1},sh); console.log('  smear 2',(cpu()-t).toFixed(0));}
