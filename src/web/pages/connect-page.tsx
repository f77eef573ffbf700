import { useCallback, useEffect, useState } from 'react';
import { Link } from 'wouter';
import type { CamerasAnswer, OpenedCamera } from '../../protocol/index.js';
import { connectionCautions, type Station } from '../../station/index.js';
import { CautionBand } from '../parts/caution-band.js';
import { LiveView } from '../parts/live-view.js';
import { ServerError, server } from '../state/server.js';

/** Bring up a camera: what answers, who it is, and what it sees. */
export function ConnectPage({ station, yaml }: { station: Station; yaml: string }) {
  const [found, setFound] = useState<CamerasAnswer | null>(null);
  const [opened, setOpened] = useState<OpenedCamera | null>(null);
  const [trouble, setTrouble] = useState<string | null>(null);
  const [isBusy, setBusy] = useState(false);
  const [ownAddress, setOwnAddress] = useState('');
  const telling = useCallback(async (work: () => Promise<void>) => {
    setBusy(true);
    setTrouble(null);
    try {
      await work();
    } catch (error) {
      if (!(error instanceof ServerError)) throw error;
      setTrouble(`${error.message} ${error.remedy}`);
    } finally {
      setBusy(false);
    }
  }, []);
  const look = useCallback(() => telling(async () => setFound(await server.cameras())), [telling]);
  useEffect(() => {
    void telling(async () => setOpened(await server.camera()));
    void look();
  }, [telling, look]);
  const connect = (address: string) => telling(async () => setOpened(await server.openCamera({ address, yaml })));
  const disconnect = () =>
    telling(async () => {
      await server.closeCamera();
      setOpened(null);
    });

  return (
    <section className="connect-page">
      <h1>{opened ? `Connected to ${opened.model}` : 'No camera is connected'}</h1>
      <CautionBand cautions={connectionCautions(station)} />
      {trouble && <p role="alert">{trouble}</p>}
      {opened ? (
        <>
          <LiveView opened={opened} />
          <p>
            <Link href="/resolution/measure">Measure on its newest frame</Link>
          </p>
          <button type="button" className="button" disabled={isBusy} onClick={disconnect}>
            Park the lens and disconnect
          </button>
        </>
      ) : (
        <>
          <h2>Cameras that answer</h2>
          {found?.trouble && <p className="soft">{found.trouble}</p>}
          <ul className="camera-list" aria-busy={found === null}>
            {(found?.cameras ?? []).map(({ address, title }) => (
              <li key={address}>
                <span>
                  {title} <code className="soft">{address}</code>
                </span>
                <button type="button" className="button" disabled={isBusy} onClick={() => connect(address)}>
                  Connect
                </button>
              </li>
            ))}
          </ul>
          {found === null && <p className="soft">Looking on the network and on USB …</p>}
          <form
            className="toolbar"
            onSubmit={(event) => {
              event.preventDefault();
              void connect(`genicam:${ownAddress.trim()}`);
            }}
          >
            <label>
              IP address, serial number or id{' '}
              <input value={ownAddress} onChange={(event) => setOwnAddress(event.target.value)} required />
            </label>
            <button type="submit" className="button" disabled={isBusy}>
              Connect
            </button>
            <button type="button" className="button" disabled={isBusy} onClick={look}>
              Look again
            </button>
          </form>
          <p className="soft">
            Tested over loopback only, on no hardware. Commands keep to the limits of the station file and of the lens,
            whichever are tighter; the lens is parked when it is disconnected.
          </p>
        </>
      )}
    </section>
  );
}
