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
    setFocalCurrent: (command) => camera.setFocalCurrent(command),
    setExposure: (command) => camera.setExposure(command),
    configure: (wanted) => camera.configure(wanted),
    lensStatus: () => camera.lensStatus(),
    grab: (options) => camera.grab(options),
    stream: (options) => camera.stream(options),
    park: () => camera.park(),
    close: (options) => camera.close(options),
    ...changed,
  };
}
