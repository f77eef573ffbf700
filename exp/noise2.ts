import { focusCase } from '../bench/focus-suite/focus-case.js';
import { ringSpectrometer } from '../src/image/index.js';
const [kind, idx]=process.argv.slice(2);
const c=focusCase(+idx!,kind as any); const sp=ringSpectrometer({widthPx:256,heightPx:256});
const o=c.open(); let prev:any=null;
for (const [p,w] of [[0,500],[10,5],[10,10],[10,500],[10,500],[9.688,3],[9.688,50],[9.688,50],[9.688,50],[5,50],[5,50]] as const) { await o.camera.setFocalPower({focalPowerDpt:p}); await o.camera.clock.sleep(w); const f=await o.camera.grab(); const s=sp.measure(f.image,c.region);
 let dv=0; if(prev){for(let i=0;i<f.image.data.length;i++) dv+=(f.image.data[i]!-prev.data[i]!)**2; dv/=2*f.image.data.length;} prev=f.image;
 const t=o.framePowersDpt.at(-1)!;
 console.log(p,w,'true',t[0]!.toFixed(3),t.at(-1)!.toFixed(3),[...s.powersDn2].slice(-5).map(x=>x.toFixed(3)),'mean',s.meanDn.toFixed(2),'temporal var',dv.toFixed(3)); }
