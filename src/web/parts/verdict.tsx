import { memo } from 'react';
import type { Verdict } from '../../base/index.js';
import { verdictMarks } from '../../report/index.js';

/** A verdict as word and shape, never colour alone. */
export const VerdictMark = memo(({ verdict }: { verdict: Verdict }) => {
  const { word, path } = verdictMarks[verdict];
  return (
    <span className={`verdict verdict-${verdict}`}>
      <svg viewBox="0 0 16 16" width="12" height="12" aria-hidden="true">
        <path d={path} fill="currentColor" fillRule="evenodd" />
      </svg>
      {word}
    </span>
  );
});
