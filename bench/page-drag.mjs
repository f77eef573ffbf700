// How long the layout page takes to follow a dragged value, in Chromium: node bench/page-drag.mjs [station …] [--changes 120]
// A station is a file or the name of a demonstration station.
// Needs a build. Changes the f-number in its field; a MutationObserver tells when the page has become new: first what
// stands in the window, then the figures and tables below it. Times by performance.now; processor time of the page's
// thread by the browser's own counters.
import { spawn } from 'node:child_process';
import { loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { chromium } from 'playwright-core';

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { changes: { type: 'string', default: '120' } },
});
const stations = positionals.length > 0 ? positionals : ['glaze-line', 'vial-stopper'];
const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
for (const station of stations) await measure(station);
await browser.close();

async function measure(station) {
  const server = spawn(process.execPath, ['dist/cli/main.js', 'serve', '--station', station, '--port', '0']);
  try {
    const url = await new Promise((found, failed) => {
      server.stdout.on('data', (text) => /http:\S+/.test(text) && found(/http:\S+/.exec(text)[0]));
      server.stderr.pipe(process.stderr);
      server.on('exit', (code) => failed(new Error(`the server ended with ${code}`)));
    });
    const page = await browser.newPage({ viewport: { width: 1500, height: 1000 } });
    await page.goto(`${url.replace(/\/$/, '')}/#/layout`);
    await page.waitForSelector('text=Sharpness, light and scale');
    await page.waitForTimeout(500);
    const cdp = await page.context().newCDPSession(page);
    await cdp.send('Performance.enable', { timeDomain: 'threadTicks' });
    await page.evaluate(changeMany, 40);
    const before = await counters(cdp);
    const changes = Number(values.changes);
    const times = await page.evaluate(changeMany, changes);
    const after = await counters(cdp);
    console.log(`${station}, load ${loadavg()[0].toFixed(1)}`);
    for (const key of ['first', 'all']) {
      const sorted = times.map((time) => time[key]).sort((a, b) => a - b);
      const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))].toFixed(1);
      console.log(
        `  ${key === 'first' ? 'in the window' : 'all of the page'}: best ${at(0)}, median ${at(0.5)}, 90 % ${at(0.9)} ms`,
      );
    }
    const cpu = Object.keys(before).map(
      (key) => `${key} ${((1000 * (after[key] - before[key])) / changes).toFixed(1)}`,
    );
    console.log(`  processor time a change: ${cpu.join(', ')} ms`);
    console.log(`  elements in the page: ${await page.evaluate(() => document.querySelectorAll('*').length)}`);
    await page.close();
  } finally {
    server.kill();
  }
}

async function counters(cdp) {
  const { metrics } = await cdp.send('Performance.getMetrics');
  const of = (name) => metrics.find((metric) => metric.name === name).value;
  return {
    script: of('ScriptDuration'),
    style: of('RecalcStyleDuration'),
    layout: of('LayoutDuration'),
    task: of('TaskDuration'),
  };
}

/** Runs in the page: changes the f-number again and again, each time waiting until the page rests. */
async function changeMany(count) {
  const label = [...document.querySelectorAll('label')].find(({ textContent }) => textContent === 'f-number');
  const field = document.getElementById(label.htmlFor);
  const write = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, 'value').set;
  const times = [];
  for (let i = 0; i < count; i++) {
    const seen = [];
    const observer = new MutationObserver(() => seen.push(performance.now()));
    observer.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
    const value = (Math.round(field.value * 10) + 1) / 10;
    const start = performance.now();
    write.call(field, String(value > 11 ? 4 : value));
    field.dispatchEvent(new Event('input', { bubbles: true }));
    await new Promise((rest) => setTimeout(rest, 120));
    observer.disconnect();
    times.push({ first: seen[0] - start, all: seen.at(-1) - start });
  }
  return times;
}
