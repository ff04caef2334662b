// The reports in headless Chromium, opened from file:// as a hospital computer would.
//
// What is held against a source outside the project: axe-core's rules (Deque Systems, version in package-lock.json; WCAG
// 2.2 A and AA and its best practices), the Content-Security-Policy as the browser enforces it (W3C, CSP Level 3), and
// the printed pages as poppler reads them.

import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const require = createRequire(import.meta.url);
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const here = import.meta.dirname;
const root = join(here, '..', '..');
const folder = mkdtempSync(join(tmpdir(), 'loadbook-reports-'));
const samples = 'samples/fennmarsh';

const reports = [
  { name: 'review', args: ['review', samples], title: 'Review of sterilization records' },
  { name: 'investigation', args: ['investigation', 'PL-1:1433', `${samples}/printouts/PL-1`, `${samples}/logs/fennmarsh-general-2026-04.txt`], title: 'Investigation' },
  { name: 'monthly', args: ['monthly', samples], title: 'Infection prevention, March 2026' },
  { name: 'service', args: ['service', `${samples}/printouts/ST-1`, `${samples}/logs/fennmarsh-general-2026-03.txt`, '--from', '2026-03-01'], title: 'Service sheet' },
  {
    name: 'review-de',
    args: ['review', `${samples}/printouts/PL-3`, `${samples}/logs/day-surgery-annexe-2026-03.csv`, '--lang', 'de', '--mask-operators', '--from', '2026-03-25'],
    title: 'Durchsicht der Sterilisationsaufzeichnungen',
  },
  { name: 'hostile', args: ['investigation', 'P9-<i>1</i>', 'tests/browser/hostile'], title: 'Investigation' },
  { name: 'hostile-review', args: ['review', 'tests/browser/hostile'], title: 'Review of sterilization records' },
];

const file = (name) => join(folder, `${name}.html`);
const address = (name) => pathToFileURL(file(name)).href;

let browser;

before(async () => {
  for (const { name, args } of reports) {
    const run = spawnSync(process.env.LOADBOOK, ['report', ...args, '-o', file(name)], { cwd: root, encoding: 'utf8' });
    assert.ok(run.status === 0 || run.status === 1, `${name}: ${run.stderr}`);
  }
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
});

after(async () => browser?.close());

/** Opens a report in a window of its own and hands over what the page did: errors and requests. */
async function open(name, options = {}) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const seen = { errors: [], requests: [] };
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) seen.errors.push(message.text());
  });
  page.on('pageerror', (error) => seen.errors.push(String(error)));
  page.on('request', (request) => {
    if (request.url() !== address(name) && !request.url().startsWith('data:,')) seen.requests.push(request.url());
  });
  await page.goto(address(name), { waitUntil: 'load' });
  return { context, page, seen };
}

for (const { name, title } of reports) {
  test(`${name} opens from file:// with no console error and no request, and every link has its row`, async () => {
    const { context, page, seen } = await open(name);
    assert.equal((await page.locator('h1').innerText()).startsWith(title), true);
    const found = await page.evaluate(() => {
      const ids = [...document.querySelectorAll('[id]')].map((element) => element.id);
      const links = [...document.querySelectorAll('a[href]')].map((link) => link.getAttribute('href'));
      return {
        doubled: ids.filter((id, n) => ids.indexOf(id) !== n).slice(0, 5),
        outside: links.filter((href) => !href.startsWith('#')),
        dead: links.filter((href) => href.startsWith('#') && !document.getElementById(href.slice(1))).slice(0, 5),
        active: document.querySelectorAll('script, img, iframe, object, embed, form, input, link[rel=stylesheet]').length,
        styled: document.querySelectorAll('[style]').length,
        // What may be wider than the window, as fonts differ, is scrolled with the keyboard.
        unreachable: [...document.querySelectorAll('.wide')].filter(
          (wide) => !wide.hasAttribute('tabindex') && !wide.querySelector('a[href]'),
        ).length,
        shown: getComputedStyle(document.body).fontVariantNumeric,
      };
    });
    assert.deepEqual(found, { doubled: [], outside: [], dead: [], active: 0, styled: 0, unreachable: 0, shown: 'tabular-nums' });
    assert.deepEqual(seen, { errors: [], requests: [] });
    await context.close();
  });

  // Colours alone differ in the dark, and all but colours on a phone: each is looked at where it can differ.
  const looks = [
    ['light', 1280, {}],
    ['dark', 1280, { runOnly: ['color-contrast', 'link-in-text-block'] }],
    ['light', 390, { rules: { 'color-contrast': { enabled: false } } }],
  ];
  for (const [colorScheme, width, options] of looks) {
    test(`${name} has no axe-core violation, ${colorScheme}, ${width} wide`, async () => {
      // axe-core needs to run a script, which the report's own policy forbids.
      const { context, page } = await open(name, { bypassCSP: true, colorScheme, viewport: { width, height: 900 } });
      await page.evaluate(axe);
      const found = await page.evaluate(async (options) => {
        const results = await globalThis.axe.run(document, { resultTypes: ['violations'], ...options });
        return results.violations.map((violation) => ({
          id: violation.id,
          nodes: violation.nodes.slice(0, 3).map((node) => `${node.target} ${node.failureSummary ?? ''}`),
        }));
      }, options);
      assert.deepEqual(found, []);
      if (width === 390) {
        const across = await page.evaluate(() => document.scrollingElement.scrollWidth);
        assert.ok(across <= width, `the page is ${across} wide`);
      }
      await context.close();
    });
  }

  test(`${name} prints its title and number on each page, A4 and Letter`, async () => {
    const { context, page } = await open(name);
    for (const [format, width] of [['A4', 595.3], ['Letter', 612]]) {
      const pdf = join(folder, `${name}-${format}.pdf`);
      await page.pdf({ path: pdf, format });
      const info = execFileSync('pdfinfo', [pdf], { encoding: 'utf8' });
      const pages = Number(/Pages:\s+(\d+)/.exec(info)[1]);
      // A4 is 595.3 points wide, Letter 612 (ISO 216; ANSI/ASME Y14.1); Chromium rounds to whole pixels.
      assert.ok(Math.abs(Number(/Page size:\s+([\d.]+)/.exec(info)[1]) - width) < 1);
      const texts = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' }).split('\f').slice(0, pages);
      const [number, of] = name.endsWith('-de') ? ['Seite', 'von'] : ['Page', 'of'];
      texts.forEach((text, n) => {
        assert.ok(text.includes(title), `${format}: the title is not on page ${n + 1} of ${pages}`);
        assert.ok(text.includes(`${number} ${n + 1} ${of} ${pages}`), `${format}: no number on page ${n + 1} of ${pages}`);
      });
    }
    await context.close();
  });
}

test('the first page of the review is its agenda and stands alone', async () => {
  const { context, page } = await open('review');
  for (const format of ['A4', 'Letter']) {
    const pdf = join(folder, `agenda-${format}.pdf`);
    await page.pdf({ path: pdf, format });
    const [first, second] = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' }).split('\f');
    const order = ['cycles with a load', 'What is unusual', 'Printouts missing from a unit', 'What needs a person', 'Begin with'];
    const at = order.map((words) => first.indexOf(words));
    assert.ok(at.every((place, n) => place >= 0 && (n === 0 || place > at[n - 1])), `${format}: ${at}`);
    assert.ok(!second.includes('Begin with') && !second.includes('more cases are open'), `${format}: page 1 stands alone`);
    assert.ok(second.includes('1. BI growth') && second.includes('What to check next'), `${format}: page 2 begins with the findings`);
  }
  await context.close();
});

test('the keyboard reaches every link in order, the skip link first, and a link leads to the quoted line', async () => {
  const { context, page } = await open('investigation');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  assert.ok((await page.locator('.skip').boundingBox()).x >= 0, 'the skip link is seen when it has the focus');
  await page.keyboard.press('Enter');
  assert.equal(await page.evaluate(() => location.hash), '#main');
  await page.goto(address('investigation'));
  const n = await page.locator('a[href], [tabindex="0"]').count();
  const reached = new Set();
  for (let step = 0; step < n + 40; step += 1) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate(() => {
      const all = [...document.querySelectorAll('a[href], [tabindex="0"]')];
      return all.indexOf(document.activeElement);
    });
    if (at >= 0) reached.add(at);
  }
  assert.equal(reached.size, n);
  const link = page.locator('a.at').first();
  const href = await link.getAttribute('href');
  await link.focus();
  await page.keyboard.press('Enter');
  const row = page.locator(href);
  assert.ok(await row.isVisible());
  const box = await row.boundingBox();
  assert.ok(box.y >= 0 && box.y < page.viewportSize().height, 'the quoted line is in sight');
  await context.close();
});

for (const name of ['hostile', 'hostile-review']) {
  test(`${name}: text of a strip stays text`, async () => {
    const { context, page, seen } = await open(name);
    assert.equal(await page.evaluate(() => document.hacked), undefined);
    assert.deepEqual(seen, { errors: [], requests: [] });
    const text = await page.locator('body').innerText();
    assert.ok(text.includes('<script>document.hacked=1</script>'), 'the place is shown as it was printed');
    assert.ok((await page.title()).includes('</title></style>') || name === 'hostile');
    assert.equal(await page.locator('i, u, b, iframe, marquee, svg[onload]').count(), 0);
    await context.close();
  });
}

test('printed in black and white, what is released, open and settled can be told apart by words and frames', async () => {
  const { context, page } = await open('review');
  await page.emulateMedia({ media: 'print' });
  const looks = await page.evaluate(() =>
    ['released', 'open', 'settled'].map((state) => {
      const element = document.querySelector(`.state.${state}`);
      const style = getComputedStyle(element);
      return {
        words: element.textContent,
        ink: style.color,
        paper: style.backgroundColor,
        frame: `${style.borderTopWidth} ${style.borderTopStyle}`,
      };
    }),
  );
  assert.equal(new Set(looks.map((look) => look.words)).size, 3);
  assert.equal(new Set(looks.map((look) => look.frame)).size, 3);
  for (const look of looks) {
    // Printers leave backgrounds out: ink must not need one.
    assert.match(look.paper, /rgba\(0, 0, 0, 0\)/);
    const [red, green, blue] = look.ink.match(/\d+/g).map(Number);
    assert.ok(Math.max(red, green, blue) < 100, look.ink);
  }
  await context.close();
});

test('rows of tables are not broken between pages', async () => {
  const { context, page } = await open('review');
  await page.emulateMedia({ media: 'print' });
  const broken = await page.evaluate(
    () => [...document.querySelectorAll('tr')].filter((row) => getComputedStyle(row).breakInside !== 'avoid').length,
  );
  assert.equal(broken, 0);
  await context.close();
});

test('the same records give the same report, byte for byte', () => {
  const again = join(folder, 'again.html');
  spawnSync(process.env.LOADBOOK, ['report', ...reports[1].args, '-o', again], { cwd: root });
  assert.ok(readFileSync(again).equals(readFileSync(file('investigation'))));
});

test('a report that breaks its own rules is seen to', async () => {
  // Without this, a check that can't fail would go unnoticed: a picture from elsewhere must be caught as a request or
  // stopped by the policy.
  writeFileSync(
    file('broken'),
    readFileSync(file('hostile'), 'utf8').replace('<main', '<img src="https://example.invalid/x.png"><main'),
  );
  const { context, seen } = await open('broken');
  assert.ok(seen.errors.some((error) => error.includes('Content Security Policy')), JSON.stringify(seen));
  await context.close();
});
