import type { LiveFrame, LiveTrouble } from '../../protocol/index.js';

/** A picture as it came, with what is known of it. */
export interface LivePicture {
  about: LiveFrame;
  picture: ImageBitmap;
}

/**
 * Follows the live feed: asks for a picture, shows it, asks for the next. So there is never a queue.
 * Returns the way to stop.
 */
export function followLive({
  widthPx,
  shown,
  trouble,
}: {
  widthPx: number;
  shown(picture: LivePicture): void;
  trouble(trouble: LiveTrouble): void;
}): () => void {
  const socket = new WebSocket(`ws://${location.host}/api/camera/live`);
  socket.binaryType = 'blob';
  let about: LiveFrame | null = null;
  let isOver = false;
  const ask = () => {
    if (!isOver) socket.send(JSON.stringify({ widthPx }));
  };
  socket.onopen = ask;
  socket.onmessage = async ({ data }) => {
    if (typeof data === 'string') {
      const message = JSON.parse(data) as LiveFrame | LiveTrouble;
      if (!('message' in message)) {
        about = message;
        return;
      }
      trouble(message);
      setTimeout(ask, 1000);
      return;
    }
    const picture = await createImageBitmap(data as Blob);
    if (about && !isOver) shown({ about, picture });
    ask();
  };
  socket.onclose = ({ code }) => {
    if (!isOver && code !== 4404) {
      trouble({ message: 'The live picture has stopped.', remedy: 'Connect again.' });
    }
    isOver = true;
  };
  return () => {
    isOver = true;
    socket.close();
  };
}
