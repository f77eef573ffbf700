import { type ReactNode, useLayoutEffect, useRef, useSyncExternalStore } from 'react';

/** A table as it is, or, where it would scroll sideways in a narrow window, each row a block with its columns named. */
export function ScrollTable({
  label,
  className = 'numbers',
  children,
}: {
  label: string;
  className?: string;
  children: ReactNode;
}) {
  const place = useRef<HTMLElement>(null);
  const isNarrow = useSyncExternalStore(watchWidth, () => narrow.matches);
  useLayoutEffect(() => {
    place.current?.toggleAttribute('data-stacked', isNarrow && nameCells(place.current));
  });
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls sideways must take the keyboard
    <section ref={place} className="table-scroll" aria-label={label} tabIndex={0}>
      <table className={className}>{children}</table>
    </section>
  );
}

const narrow = window.matchMedia('(max-width: 40rem)');

function watchWidth(changed: () => void): () => void {
  narrow.addEventListener('change', changed);
  return () => narrow.removeEventListener('change', changed);
}

/** Gives each cell the text of its column's heading, which the style sheet sets before it; false for a table without headings. */
function nameCells(place: HTMLElement): boolean {
  const headings = [...place.querySelectorAll('thead th')].map((heading) =>
    heading.querySelector('.visually-hidden') ? '' : (heading.textContent ?? ''),
  );
  if (headings.length === 0) return false;
  for (const row of place.querySelectorAll('tbody tr')) {
    for (const [column, cell] of [...row.children].entries()) {
      if (cell.tagName === 'TD') cell.setAttribute('data-column', headings[column]!);
    }
  }
  return true;
}
