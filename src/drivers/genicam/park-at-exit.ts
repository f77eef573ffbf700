import type { Session } from './session.js';

const open = new Set<Session>();

/** Parks the lens when this process ends without having closed the camera. Returns the way to forget it again. */
export function parkAtExit(session: Session): () => void {
  if (open.size === 0) process.on('exit', parkAll);
  open.add(session);
  return () => {
    open.delete(session);
    if (open.size === 0) process.removeListener('exit', parkAll);
  };
}

function parkAll(): void {
  for (const { lens, link } of open) {
    // A call under way holds the line to the camera; a second one beside it could crash. The watch parks then.
    if (link.isLost || !link.isIdle) continue;
    try {
      lens?.parkNow();
    } catch {
      // The process ends anyway.
    }
  }
}
