// How long a browser on a processor four times as slow takes from a touch or a key to the next paint
// (Event Timing, W3C), on the pages of the bench.
//   node bench/interaction.mjs PROGRAM
import { spawn, execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createRequire } from 'node:module';

const require = createRequire(new URL('../e2e/package.json', import.meta.url));
const { chromium } = require('playwright-core');
const program = process.argv[2];
const directory = mkdtempSync(join(tmpdir(), 'stonewear-interaction-'));
execFileSync(program, ['demo', '--dir', directory, '--found-only']);
const server = spawn(program, ['serve', '--dir', directory, '--listen', '127.0.0.1:0']);
const base = await new Promise((found) => {
  let said = '';
  server.stdout.on('data', (bytes) => {
    said += bytes;
    const address = said.match(/http:\/\/[^/\s]+/);
    if (address) found(address[0]);
  });
});
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});
const context = await browser.newContext({ viewport: { width: 768, height: 1024 }, hasTouch: true });
await context.addCookies([{ name: 'stonewear-person', value: 'IK', url: base }]);
const page = await context.newPage();
const slow = await context.newCDPSession(page);
await slow.send('Emulation.setCPUThrottlingRate', { rate: 4 });

// The longest interaction of a page, in ms; those below 16 ms are not told by the browser.
async function longest(path, interact) {
  await page.goto(base + path);
  await page.evaluate(() => {
    window.longest = 0;
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) {
        if (entry.interactionId) window.longest = Math.max(window.longest, entry.duration);
      }
    }).observe({ type: 'event', durationThreshold: 16, buffered: true });
  });
  await interact();
  await page.waitForTimeout(400);
  return page.evaluate(() => window.longest);
}

const check = await (async () => {
  await page.goto(`${base}/equipment/MILL-1`);
  const links = await page.locator('a[href^="/checks/C"]').evaluateAll((all) => all.map((one) => one.getAttribute('href')));
  return links.at(-1);
})();
const walks = [
  ['a key in the field at the top', '/', () => page.keyboard.press('/')],
  ['looking for a thing', '/', async () => {
    await page.keyboard.press('Control+k');
    await page.keyboard.type('mill', { delay: 60 });
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Escape');
  }],
  ['the field of a new sample', '/samples/new', async () => {
    await page.locator('form input[type=text]').first().click();
    await page.keyboard.type('Invented Quarry 5,5', { delay: 40 });
    await page.keyboard.press('Tab');
  }],
  ['a value beside its limit', '/specimens', async () => {
    const link = page.locator('main a[href^="/specimens/"]').first();
    if (await link.count()) await link.focus();
    await page.keyboard.press('Tab');
  }],
  ['a chart by arrow keys', '/control/RA-2/MILL-1', async () => {
    await page.locator('[data-chart], svg').first().click();
    for (let n = 0; n < 10; n += 1) await page.keyboard.press('ArrowRight', { delay: 30 });
  }],
  ['a check', check ?? '/', async () => {
    const summary = page.locator('main summary').first();
    if (await summary.count()) await summary.click();
    await page.keyboard.press('Tab');
  }],
];
try {
  for (const [what, path, interact] of walks) {
    const taken = [];
    for (let n = 0; n < 3; n += 1) taken.push(await longest(path, interact));
    taken.sort((a, b) => a - b);
    console.log(`${what.padEnd(34)} ${String(taken[1]).padStart(5)} ms median ${String(taken[2]).padStart(5)} ms worst   (wanted: 100)`);
  }
} finally {
  await browser.close();
  server.kill();
  rmSync(directory, { recursive: true, force: true });
}
