// Spreadsheets and archives: taken apart by a program that comes when it is needed.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { LEAKY, accessible, drop, fromDisk, open, serve, setUp, settled } from './harness.mjs';
import { ods, zip } from './zip.mjs';

// The same files that the terminal is tested with.
const SEEDS = fileURLToPath(new URL('../fuzz/seeds/spreadsheet', import.meta.url));
const seed = async (name, as = name) => ({ name: as, bytes: await readFile(join(SEEDS, name)) });
const CLEAR = 'Va [V],Vg [V],Ia [mA]\n100,-3,0.1\n100,-2,0.9\n100,-1,2.1\n';
const UNCLEAR = 'Va [V];Vg [V];Ia [uA]\n200;-3;1,234\n200;-2;2,345\n200;-1;3,456\n';
const PROGRAM = /sweepbook_sheets_page/;

const at = setUp();
const { onPage } = at;

const names = (page) => page.locator('.tube-name').allTextContents();
const unread = (page) => page.locator('#unread-list li').allTextContents();
const withoutWorker = { serviceWorkers: 'block', allow: [/Service Worker registration blocked by Playwright/] };

describe('spreadsheets and archives', () => {
  onPage('each kind is read as the terminal reads it, whatever it is called', {}, async (page) => {
    await drop(page, [await seed('sheet.xlsx'), await seed('sections.ods', 'sections.csv'), await seed('lot.zip')]);
    await settled(page, 3);
    assert.deepEqual(await names(page), ['sheet', 'sections', 'a']);
    assert.deepEqual(await unread(page), []);
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    assert.match(await page.locator('#tube-source').textContent(), /lot\.zip\/a\.csv/);
  });

  onPage('sections on sheets of their own are one tube, any other sheet is one of its own', {}, async (page) => {
    const sections = ods([['section 1', CLEAR], ['section 2', CLEAR], ['remarks', 'rain']]);
    await drop(page, [{ name: 'twin.ods', bytes: sections }, { name: 'lot.ods', bytes: ods([['B-17', CLEAR], ['B-18', CLEAR]]) }]);
    await settled(page, 3);
    assert.deepEqual(await names(page), ['twin', 'B-17', 'B-18']);
    assert.deepEqual(await unread(page), []);
    assert.match(await page.locator('#tube-source').textContent(), /twin\.ods \[section 1\], twin\.ods \[section 2\] · 6 points/);
  });

  onPage('a whole lot in an archive gets its verdicts', {}, async (page) => {
    const [leaky] = await fromDisk(LEAKY);
    await drop(page, [{ name: 'lot.zip', bytes: zip([['009.csv', leaky.text], ['remarks.txt', 'rain'], ['photo.jpg', 'x']]) }]);
    await settled(page, 1);
    assert.match(await page.locator('#findings .finding h4').first().textContent(), /plate.cathode leakage/i);
    assert.match((await unread(page)).join(), /lot\.zip\/remarks\.txt/);
  });

  onPage('a bomb and damaged files are refused with a mend, and the rest is read', {}, async (page) => {
    const sheet = await readFile(join(SEEDS, 'sheet.xlsx'));
    await drop(page, [
      { name: 'bomb.zip', bytes: zip([['a.csv', Buffer.alloc(40_000_000)]]) },
      { name: 'cut.xlsx', bytes: sheet.subarray(0, sheet.length / 2) },
      { name: 'good.csv', text: CLEAR },
    ]);
    await settled(page, 1);
    const [bomb, cut] = await unread(page);
    assert.match(bomb, /bomb\.zip.*grows more than 250 times.*do not open it/);
    assert.match(cut, /cut\.xlsx.*damaged.*save it again/);
  });

  onPage('one table may ask while the others are read; the answer counts for all that ask', {}, async (page) => {
    await drop(page, [{ name: 'lot.zip', bytes: zip([['a.csv', CLEAR], ['b.csv', UNCLEAR], ['c.csv', 'no table']]) }]);
    await page.waitForSelector('.question');
    await settled(page, 1);
    assert.match(await page.locator('.question').innerText(), /lot\.zip\/b\.csv[^]*counts for every table in this file/);
    assert.equal((await unread(page)).length, 1);
    await page.locator('.candidate').nth(0).click();
    await page.locator('#questions .primary').click();
    await settled(page, 2);
    assert.deepEqual(await names(page), ['a', 'b']);
    assert.equal((await unread(page)).length, 1, 'told once');
    assert.ok(await page.locator('#questions').isHidden());
  });

  onPage('the table that asks can be left out, and the others stay', {}, async (page) => {
    await drop(page, [{ name: 'lot.zip', bytes: zip([['a.csv', CLEAR], ['b.csv', UNCLEAR]]) }]);
    await page.waitForSelector('.question');
    await page.getByText('Leave this table out').click();
    await settled(page, 1);
    assert.ok(await page.locator('#questions').isHidden());
    assert.deepEqual(await names(page), ['a']);
  });

  onPage('its program is fetched for a spreadsheet only', withoutWorker, async (page, context) => {
    const asked = [];
    context.on('request', (request) => asked.push(request.url()));
    await drop(page, [{ name: 'a.csv', text: CLEAR }]);
    await settled(page, 1);
    assert.deepEqual(asked.filter((url) => PROGRAM.test(url)), []);
    await drop(page, [await seed('sheet.xlsx')]);
    await settled(page, 2);
    assert.equal(asked.filter((url) => PROGRAM.test(url)).length, 2, 'the glue and the program, once');
    await drop(page, [await seed('sections.ods')]);
    await settled(page, 3);
    assert.equal(asked.filter((url) => PROGRAM.test(url)).length, 2);
  });

  const failing = { ...withoutWorker, allow: [...withoutWorker.allow, /Failed to load resource/] };
  onPage('where it cannot be fetched that is said, and it is tried again', failing, async (page, context) => {
    await context.route(PROGRAM, (route) => route.abort());
    await drop(page, [await seed('sheet.xlsx'), { name: 'a.csv', text: CLEAR }]);
    await settled(page, 1);
    assert.match((await unread(page)).join(), /sheet\.xlsx.*could not be loaded.*save the sheet as CSV/);
    await context.unroute(PROGRAM);
    await drop(page, [await seed('sheet.xlsx')]);
    await settled(page, 2);
  });

  onPage('a file on which it stops is named, and the next one gets a fresh program', withoutWorker, async (page, context) => {
    await context.route('**/unpack.js', async (route) => {
      const original = await route.fetch();
      const text = (await original.text()).replace(/apart\(name, ?bytes\)/, "(name === 'trap.xlsx' ? stop() : apart(name, bytes))");
      await route.fulfill({ response: original, body: `${text}\nfunction stop() { throw new WebAssembly.RuntimeError('unreachable'); }` });
    });
    await drop(page, [{ name: 'a.csv', text: CLEAR }, await seed('sheet.xlsx', 'trap.xlsx'), await seed('sheet.xlsx')]);
    await settled(page, 2);
    assert.match((await unread(page)).join(), /trap\.xlsx.*damaged.*save it again/);
  });

  test('a spreadsheet is read without a connection, though none was opened before', async () => {
    const own = await serve();
    const { page, context, wrong } = await open(at.browser, own.url);
    await page.waitForFunction(() => document.getElementById('offline').textContent.startsWith('Kept'));
    await own.stop();
    await page.reload();
    await page.waitForSelector('body.ready');
    await drop(page, [await seed('sheet.xlsx')]);
    await settled(page, 1);
    assert.deepEqual(wrong, []);
    await context.close();
  });

  for (const viewport of [{ width: 1366, height: 768 }, { width: 390, height: 844 }]) {
    onPage(`axe finds nothing while a table asks, ${viewport.width} wide`, { viewport }, async (page) => {
      await drop(page, [{ name: `${'endless'.repeat(20)}.zip`, bytes: zip([['a.csv', CLEAR], ['b.csv', UNCLEAR], ['c.csv', 'no table']]) }]);
      await page.waitForSelector('.question');
      await settled(page, 1);
      await accessible(page, 'asked');
      assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth));
      if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/packed-${viewport.width}.png` });
    });
  }
});
