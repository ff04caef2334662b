// Draws the pictures of reports/README.md: node pictures.mjs
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const reports = join(import.meta.dirname, '..', '..', 'reports');
const pictures = [
  ['review', 'header', 980],
  ['investigation', '#curves-0', 800],
  ['monthly', 'header', 980],
  ['service', '#unit-0 .halves', 760],
];
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking'],
});
const page = await browser.newPage({ viewport: { width: 1100, height: 1000 } });
for (const [name, from, height] of pictures) {
  await page.goto(pathToFileURL(join(reports, `${name}.html`)).href);
  const box = await page.locator(from).first().boundingBox();
  const clip = { x: 0, y: Math.max(0, box.y - 20), width: 1100, height };
  await page.screenshot({ path: join(reports, 'pictures', `${name}.png`), clip, fullPage: true });
}
await browser.close();
