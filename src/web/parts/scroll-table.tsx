import type { ReactNode } from 'react';

/** A table that scrolls sideways in its own place where the window is narrower; numbers never break. */
export function ScrollTable({ label, children }: { label: string; children: ReactNode }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls sideways must take the keyboard
    <section className="table-scroll" aria-label={label} tabIndex={0}>
      <table className="numbers">{children}</table>
    </section>
  );
}
