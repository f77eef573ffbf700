import { Component, memo, type ReactNode, useLayoutEffect, useMemo, useRef, useState } from 'react';
import type { Figure, FigureSize } from '../../report/index.js';
import { SvgPlace } from './write-svg.js';

/** Stands in for a figure that could not be drawn, so that one defect does not take the page away. */
class FigureFailure extends Component<{ children: ReactNode }, { message: string | null }> {
  override state = { message: null };
  static getDerivedStateFromError(error: unknown) {
    return { message: error instanceof Error ? error.message : String(error) };
  }
  override render() {
    if (this.state.message === null) return this.props.children;
    return <p role="alert">This figure could not be drawn: {this.state.message}. The numbers beside it still hold.</p>;
  }
}

interface FigureViewProps {
  /** Draws the figure at a size; keep it stable with useCallback, it is called on each change. */
  draw: (size: FigureSize) => Figure;
  /** Height as a share of the width. */
  aspect: number;
  /** The main figure takes the height the window leaves. */
  main?: boolean;
  /** Drawn from a simulated station; said beside the title. */
  simulated?: boolean;
}

/** A figure as large as its place allows; drawn anew, not scaled, when the place changes. */
export const FigureView = memo((props: FigureViewProps) => (
  <FigureFailure>
    <SizedFigure {...props} />
  </FigureFailure>
));

function SizedFigure({ draw, aspect, main = false, simulated = false }: FigureViewProps) {
  const place = useRef<HTMLElement>(null);
  const [widthPx, setWidthPx] = useState(640);
  useLayoutEffect(() => {
    const element = place.current;
    if (!element) return;
    const observer = new ResizeObserver(([entry]) => entry && setWidthPx(Math.round(entry.contentRect.width)));
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  const figure = useMemo(
    () => draw({ widthPx, heightPx: Math.round(widthPx * (widthPx < 480 ? Math.max(aspect, 0.7) : aspect)) }),
    [draw, widthPx, aspect],
  );
  const drawing = useRef<SvgPlace | null>(null);
  const write = (at: HTMLDivElement | null) => {
    if (at) drawing.current ??= new SvgPlace(at);
  };
  useLayoutEffect(() => drawing.current?.write(figure.svg), [figure.svg]);
  return (
    <figure ref={place} className={main ? 'figure figure-main' : 'figure'}>
      <figcaption>
        {figure.title}
        {simulated && <span className="soft figure-origin"> · simulated</span>}
      </figcaption>
      <div ref={write} />
    </figure>
  );
}
