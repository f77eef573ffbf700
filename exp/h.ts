import { halfWidthBlurRadiusPx } from '../src/procedures/autofocus/model/focus-optics.js';
for (const c of [.3,.4,.5,.7,.9,1.1,1.5,2,3]) console.log(c, halfWidthBlurRadiusPx(c).toFixed(3));
