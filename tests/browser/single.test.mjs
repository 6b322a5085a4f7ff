// The page as one file, opened from the disk as by a double click: no server, no network.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { LEAKY, PROGRAM, drop, fromDisk, launch, open, settled } from './harness.mjs';
import { CLEAR, begin, copy, decide, kept, word } from './notebook.mjs';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const SAMPLES = readdirSync(here('../../samples')).filter((name) => name.endsWith('.csv'));

const folder = mkdtempSync(join(tmpdir(), 'single-'));
const file = join(folder, 'sweep book.html');
const address = (path) => pathToFileURL(path).href;
let browser;
before(async () => {
  execFileSync(PROGRAM, ['page', '--single', file], { stdio: 'pipe' });
  browser = await launch();
});
after(() => browser?.close());

/** A test on the file; nothing wrong may have happened by its end, and nothing that its rules forbid. */
function onFile(name, options, work) {
  test(name, async () => {
    const { page, context, wrong } = await open(browser, address(file), options);
    try {
      await page.evaluate(() => {
        globalThis.refused = [];
        document.addEventListener('securitypolicyviolation', ({ violatedDirective }) => globalThis.refused.push(violatedDirective));
      });
      await work(page, context);
      assert.deepEqual(wrong, []);
      assert.deepEqual(await page.evaluate(() => globalThis.refused), []);
    } finally {
      await context.close();
    }
  });
}

const sheet = () => ({ name: 'sheet.xlsx', bytes: readFileSync(here('../fuzz/seeds/spreadsheet/sheet.xlsx')) });

describe('the single file', () => {
  onFile('opens the sample lot that it holds, and finds its faults', {}, async (page) => {
    await page.locator('[data-do=samples]').click();
    await settled(page, SAMPLES.length);
    await page.locator('#order').selectOption('worst');
    await page.locator('#tubes').focus();
    await page.keyboard.press('Home');
    assert.match(await page.locator('#stamp').innerText(), /Reject/);
    assert.ok(await page.locator('#findings .finding').count() > 0);
    assert.match(await page.locator('#offline').textContent(), /one file: works without a connection/);
    // Its icon and its styles are there.
    assert.ok(await page.evaluate(() => document.querySelector('.masthead img').naturalWidth > 0));
    assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector('.masthead')).display), 'flex');
  });

  onFile('opens the sample lot by its address', { path: '?open=samples' }, (page) => settled(page, SAMPLES.length));

  onFile('reads tables and spreadsheets, as often as they come', {}, async (page) => {
    await drop(page, [...await fromDisk(LEAKY), sheet()]);
    await settled(page, 2);
    assert.match(await page.locator('#tubes').innerText(), /009[^]*sheet/);
    await page.locator('#tubes [role=option]', { hasText: '009' }).click();
    assert.match(await page.locator('#findings .finding h4').first().textContent(), /plate.cathode leakage/i);
    // A worker stopped in the middle gives way to a new one, which finds all parts again.
    const tables = Array.from({ length: 30 }, (_, i) => ({ name: `${i}.csv`, text: CLEAR(i) }));
    await drop(page, tables);
    await page.locator('#stop').click();
    await page.waitForFunction(() => document.getElementById('progress').hidden);
    const before = await page.locator('#tubes [role=option]').count();
    await drop(page, [{ ...sheet(), name: 'again.xlsx' }]);
    await settled(page, before + 1);
    assert.equal(await page.locator('#unread-list li').count(), 0);
  });

  onFile('keeps a notebook where the browser keeps what a file says, and saves a copy', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    await begin(page);
    await decide(page, 'Reject', 'Leaks.');
    await kept(page);
    assert.match(await copy(page), /"sweepbook\/notebook\/2"/);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    assert.equal(await word(page), 'Reject');
    await page.evaluate(() => { globalThis.refused = []; });
  });

  test('says so where the browser keeps nothing for a file, and goes on', async () => {
    // A frame without an origin is refused what some browsers refuse a file.
    const outer = join(folder, 'outer.html');
    writeFileSync(outer, '<!doctype html><title>outer</title><iframe sandbox="allow-scripts allow-forms" src="sweep%20book.html" width="1300" height="700"></iframe>');
    const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const page = await context.newPage();
    const wrong = [];
    page.on('console', (message) => { if (['error', 'warning'].includes(message.type())) wrong.push(message.text()); });
    page.on('pageerror', (error) => wrong.push(error.message));
    await page.goto(address(outer));
    const frame = await (await page.waitForSelector('iframe')).contentFrame();
    await frame.waitForSelector('body.ready');
    assert.equal(await frame.evaluate(() => { try { return String(localStorage); } catch (error) { return error.name; } }), 'SecurityError');
    await frame.locator('[data-do=samples]').click();
    await settled(frame, SAMPLES.length);
    await frame.locator('#books-open').click();
    await frame.locator('#books-name').fill('Shed');
    await frame.getByRole('button', { name: 'Begin it' }).click();
    await frame.waitForSelector('#book-kept[data-state=not]');
    assert.match(await frame.locator('#book-trouble').innerText(), /keeps nothing for this page.*only as long as the page is open/);
    await decide(frame, 'Reject', 'Leaks.');
    await frame.waitForFunction(() => document.getElementById('own-word').innerText === 'Reject');
    assert.deepEqual(wrong, []);
    await context.close();
  });

  test('lets nothing out and nothing in that it was not written with', async () => {
    const allow = [/Content Security Policy/, /request to http/];
    const { page, context, wrong } = await open(browser, address(file), { allow });
    const rules = await page.locator('meta[http-equiv=Content-Security-Policy]').getAttribute('content');
    assert.match(rules, /^default-src 'none'; script-src 'sha256-[^']+' blob: 'wasm-unsafe-eval'; style-src ('sha256-[^']+' ?)+; .*connect-src 'none'; worker-src blob:/);
    assert.doesNotMatch(rules, /unsafe-inline|'unsafe-eval|\*|https?:/);
    const refused = await page.evaluate(async () => {
      const seen = [];
      document.addEventListener('securitypolicyviolation', ({ effectiveDirective }) => seen.push(effectiveDirective));
      await fetch('http://127.0.0.1:9/').catch(() => {});
      await fetch(URL.createObjectURL(new Blob(['x']))).catch(() => {});
      document.body.append(Object.assign(document.createElement('script'), { textContent: 'globalThis.came = true' }));
      document.body.append(Object.assign(document.createElement('style'), { textContent: 'p { color: red }' }));
      await new Promise((resolve) => setTimeout(resolve, 50));
      return { seen, came: Boolean(globalThis.came) };
    });
    assert.deepEqual(refused, { seen: ['connect-src', 'connect-src', 'script-src-elem', 'style-src-elem'], came: false });
    assert.deepEqual(wrong, []);
    await context.close();
    // A script that was changed since it was written does not run.
    const changed = join(folder, 'changed.html');
    writeFileSync(changed, readFileSync(file, 'utf8').replace('const addresses = new Map();', 'const addresses = new Map(); globalThis.came = true;'));
    const other = await browser.newPage();
    await other.goto(address(changed));
    await other.waitForLoadState('load');
    assert.equal(await other.evaluate(() => document.body.classList.contains('ready') || Boolean(globalThis.came)), false);
    await other.close();
  });
});
