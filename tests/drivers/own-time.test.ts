import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { afterOwnTime } from '../../src/drivers/genicam/own-time.js';

describe('waits of a process that is held up', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());

  it('closed form: without hindrance it calls back after the time, not before', () => {
    const then = vi.fn();
    afterOwnTime(820, then);
    vi.advanceTimersByTime(819);
    expect(then).not.toHaveBeenCalled();
    vi.advanceTimersByTime(1);
    expect(then).toHaveBeenCalledOnce();
  });

  it('property: a process that stood still for a second has used one slice of its time', () => {
    const then = vi.fn();
    afterOwnTime(200, then);
    // The clock goes on, one timer is run: so it is after a standstill.
    vi.setSystemTime(Date.now() + 1000);
    vi.runOnlyPendingTimers();
    expect(then).not.toHaveBeenCalled();
    vi.advanceTimersByTime(150);
    expect(then).toHaveBeenCalledOnce();
  });

  it('property: called off, it never calls back', () => {
    const then = vi.fn();
    const callOff = afterOwnTime(200, then);
    vi.advanceTimersByTime(120);
    callOff();
    vi.advanceTimersByTime(1000);
    expect(then).not.toHaveBeenCalled();
  });
});
