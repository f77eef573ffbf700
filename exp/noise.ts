import { focusCase } from '../bench/focus-suite/focus-case.js';
import { ringSpectrometer } from '../src/image/index.js';
const [kind, idx]=process.argv.slice(2);
const c=focusCase(+idx!,kind as any); const sp=ringSpectrometer({widthPx:256,heightPx:256});
for (const d of [-22,-22,-10,-10,-4,-2,-2,0,0,2,2]) { const o=c.open(); await o.camera.setFocalPower({focalPowerDpt:Math.max(0,Math.min(10,c.bestPowerDpt+d*c.halfWidthDpt))}); await o.camera.clock.sleep(500); const f=await o.camera.grab(); const f2=await o.camera.grab(); const s=sp.measure(f.image,c.region), s2=sp.measure(f2.image,c.region);
 let dv=0; for(let i=0;i<f.image.data.length;i++) dv+=(f.image.data[i]!-f2.image.data[i]!)**2; dv/=2*f.image.data.length;
 console.log(d,[...s.powersDn2].slice(-4).map(x=>x.toFixed(3)),[...s2.powersDn2].slice(-2).map(x=>x.toFixed(3)),'mean',s.meanDn.toFixed(2),'temporal var',dv.toFixed(3)); }
console.log(c.station.parts.sensor, c.meanLevels);
