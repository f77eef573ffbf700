/** Fastest drift between two quartz clocks that is reckoned with. */
const driftRatio = 1e-4;

/** When frames would have come had nothing held them up, told by the camera's own time stamps. */
export interface DeviceTime {
  /** Arrival without delay, on this machine's wall clock; the arrival itself where the camera sends no time stamps. */
  promptArrivalMs(frame: { deviceTimeMs: number; systemTimeMs: number }): number;
}

/**
 * Tells a late frame by its time stamp.
 *
 * Model    the smallest difference seen between arrival and time stamp is the way of a prompt frame; it may drift by 100 ppm.
 * Trust    the first frame passes for a prompt one.
 */
export function deviceTime(): DeviceTime {
  let least: { differenceMs: number; atMs: number } | null = null;
  let lastDeviceMs = 0;
  return {
    promptArrivalMs({ deviceTimeMs, systemTimeMs }) {
      if (deviceTimeMs <= 0 || deviceTimeMs === lastDeviceMs) return systemTimeMs;
      lastDeviceMs = deviceTimeMs;
      const differenceMs = systemTimeMs - deviceTimeMs;
      const allowedMs = least ? least.differenceMs + driftRatio * Math.abs(systemTimeMs - least.atMs) : differenceMs;
      if (!least || differenceMs <= allowedMs) least = { differenceMs, atMs: systemTimeMs };
      return Math.min(systemTimeMs, deviceTimeMs + Math.min(differenceMs, allowedMs));
    },
  };
}
