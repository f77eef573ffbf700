import type { FocusCamera } from './contract.js';

/** A camera that behaves as `camera` but for the given calls. */
export function wrapCamera(camera: FocusCamera, changed: Partial<FocusCamera>): FocusCamera {
  return {
    id: camera.id,
    simulated: camera.simulated,
    clock: camera.clock,
    identify: () => camera.identify(),
    capabilities: () => camera.capabilities(),
    setFocalPower: (command) => camera.setFocalPower(command),
    setExposure: (command) => camera.setExposure(command),
    lensStatus: () => camera.lensStatus(),
    grab: (options) => camera.grab(options),
    park: () => camera.park(),
    close: () => camera.close(),
    ...changed,
  };
}
