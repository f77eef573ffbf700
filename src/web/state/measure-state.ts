import { create } from 'zustand';
import type { Region } from '../../image/index.js';
import type { KeptFoldersAnswer } from '../../protocol/index.js';
import type { MeasureKind, MeasureOrder, MeasureOutcome } from '../measure/measure-order.js';
import { type MeasureValues, untouchedValues } from '../measure/measure-values.js';
import type { FramePlace } from '../measure/prediction.js';
import type { FrameSlot, OpenedFrame } from '../measure-worker.js';
import { measureThread } from './measure-thread.js';
import { ServerError, server } from './server.js';

/** What is known of where a frame was taken. */
export interface FrameOrigin {
  /** As a reader says it: file, or camera and frame number. */
  name: string;
  simulated: boolean;
  focalPowerDpt: number | null;
  workingDistanceMm: number | null;
  offBestFocusDpt: number | null;
}

/** A frame in the page. */
export type ChosenFrame = OpenedFrame & { origin: FrameOrigin; blob: Blob };

/** A measurement with all that it was made of. */
export interface Measured {
  frame: ChosenFrame;
  second: ChosenFrame | null;
  order: MeasureOrder;
  outcome: MeasureOutcome;
}

/** Measuring on a frame: one frame, one region, one result at a time. */
export interface MeasureState {
  kept: KeptFoldersAnswer | null;
  frames: Record<FrameSlot, ChosenFrame | null>;
  region: Region | null;
  what: MeasureKind;
  values: MeasureValues;
  /** What the person has set instead of what is known of the frame. */
  place: FramePlace | null;
  busy: 'opening' | 'measuring' | null;
  measured: Measured | null;
  trouble: { message: string; remedy: string } | null;
  loadKept(): Promise<void>;
  /** Opens a file, whatever it comes from; the promise never rejects. */
  open(slot: FrameSlot, source: { blob: Blob; origin: FrameOrigin; page?: number }): Promise<void>;
  /** Opens what has first to be fetched. */
  fetchAndOpen(slot: FrameSlot, fetching: () => Promise<{ blob: Blob; origin: FrameOrigin }>): Promise<void>;
  setRegion(region: Region | null): void;
  setWhat(what: MeasureKind): void;
  setValues(some: Partial<MeasureValues>): void;
  setPlace(place: FramePlace): void;
  measure(order: MeasureOrder): Promise<void>;
  cancel(): void;
}

const thread = measureThread();

export const useMeasure = create<MeasureState>((set, get) => {
  /** Runs work unless something else runs; its trouble is shown. A cancelled work says nothing more. */
  let turn = 0;
  const working = async (busy: MeasureState['busy'], work: (isOver: () => boolean) => Promise<void>) => {
    const own = ++turn;
    const isOver = () => own !== turn;
    set({ busy, trouble: null });
    try {
      await work(isOver);
    } catch (error) {
      if (!(error instanceof ServerError)) throw error;
      if (!isOver()) set({ trouble: { message: error.message, remedy: error.remedy } });
    } finally {
      if (!isOver()) set({ busy: null });
    }
  };
  const openIn = async (
    slot: FrameSlot,
    { blob, origin, page = 1 }: { blob: Blob; origin: FrameOrigin; page?: number },
    isOver: () => boolean,
  ) => {
    const opened = await thread.open(slot, { blob, name: origin.name, page });
    if (isOver()) return;
    const frame = { ...opened, origin, blob };
    const { frames, region } = get();
    if (slot === 'second') return set({ frames: { ...frames, second: frame } });
    const keepsRegion = region && fits(region, frame);
    set({ frames: { ...frames, first: frame }, place: null, measured: null, region: keepsRegion ? region : null });
  };
  return {
    kept: null,
    frames: { first: null, second: null },
    region: null,
    what: 'edge',
    values: untouchedValues,
    place: null,
    busy: null,
    measured: null,
    trouble: null,
    async loadKept() {
      await server.keptFolders().then(
        (kept) => set({ kept }),
        (error: unknown) => {
          if (!(error instanceof ServerError)) throw error;
          set({ trouble: { message: error.message, remedy: error.remedy } });
        },
      );
    },
    open: (slot, source) => working('opening', (isOver) => openIn(slot, source, isOver)),
    fetchAndOpen: (slot, fetching) =>
      working('opening', async (isOver) => {
        const source = await fetching();
        if (!isOver()) await openIn(slot, source, isOver);
      }),
    setRegion: (region) => set({ region }),
    setWhat: (what) => set({ what, measured: null, trouble: null }),
    setValues: (some) => set({ values: { ...get().values, ...some } }),
    setPlace: (place) => set({ place }),
    measure: (order) =>
      working('measuring', async (isOver) => {
        const { first, second } = get().frames;
        if (!first) return;
        set({ measured: null });
        const outcome = await thread.measure(order);
        if (!isOver())
          set({ measured: { frame: first, second: order.what === 'noise' ? second : null, order, outcome } });
      }),
    cancel() {
      turn++;
      thread.cancel();
      set({ busy: null });
    },
  };
});

const fits = (region: Region, { widthPx, heightPx }: OpenedFrame): boolean =>
  region.xPx + region.widthPx <= widthPx && region.yPx + region.heightPx <= heightPx;
