import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Browser, type BrowserContextOptions, chromium, type Page } from 'playwright-core';
import { type RunningServer, startServer } from '../../src/server/index.js';

/** A served application and a browser, for the time of a test file. */
export interface Stage {
  url: string;
  /** Where the server keeps the handovers. */
  runsFolder: string;
  /** A new page in its own context; console errors and failed requests are collected in `trouble`. */
  page(options?: BrowserContextOptions): Promise<{ page: Page; trouble: string[] }>;
  close(): Promise<void>;
}

/** Serves `stationPath` on a free port, with a parts library of its own if wanted, and starts Debian's Chromium. */
export async function openStage(stationPath: string, parts: { partsPath?: string } = {}): Promise<Stage> {
  const runsFolder = mkdtempSync(join(tmpdir(), 'focuswright-runs-'));
  const server: RunningServer = await startServer({ port: 0, stationPath, runsFolder, ...parts });
  const browser: Browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
  return {
    url: server.url,
    runsFolder,
    async page(options = {}) {
      const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, ...options });
      // A busy machine draws and answers late; what is waited for stays the same.
      context.setDefaultTimeout(90_000);
      const page = await context.newPage();
      const trouble: string[] = [];
      page.on('console', (message) => message.type() === 'error' && trouble.push(message.text()));
      page.on('pageerror', (error) => trouble.push(error.message));
      page.on('requestfailed', (request) => trouble.push(`${request.url()}: ${request.failure()?.errorText}`));
      await page.goto(server.url);
      return { page, trouble };
    },
    async close() {
      await browser.close();
      await server.close();
      rmSync(runsFolder, { recursive: true, force: true });
    },
  };
}
