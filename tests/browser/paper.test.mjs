// The report to print: asked for on the page, written to a file, printed by Chromium.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { LEAKY, PROGRAM, SOUND, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';
import { CLEAR, openCopy, ownOpen } from './notebook.mjs';
import { beyond, pages } from './printed.mjs';

const at = setUp();
const { onPage } = at;

/** A report opened from disk, as its reader does; nothing may be loaded or go wrong. */
async function opened(path, work) {
  const context = await at.browser.newContext({ viewport: { width: 687, height: 1047 } });
  const page = await context.newPage();
  const wrong = [];
  page.on('console', (message) => wrong.push(message.text()));
  page.on('request', (request) => { if (request.url() !== pathToFileURL(path).href) wrong.push(request.url()); });
  await page.goto(pathToFileURL(path).href);
  try {
    await work(page);
    assert.deepEqual(wrong, []);
  } finally {
    await context.close();
  }
}

describe('the report to print', () => {
  onPage('is asked for by keyboard and saved as one file that prints on one page', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY, SOUND));
    await settled(page, 2);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#paper-open');
    await page.keyboard.press('Enter');
    await accessible(page, 'asked');
    await pressUntil(page, 'Tab', '#paper-seller');
    await page.keyboard.type('Dealer <b>& Sons</b>');
    await pressUntil(page, 'Tab', '#paper-words');
    await page.keyboard.type('It was sold as tested.');
    await pressUntil(page, 'Tab', '#paper-write');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
    assert.match(saved.suggestedFilename(), /^report-.*\.html$/);
    const path = join(mkdtempSync(join(tmpdir(), 'paper-')), saved.suggestedFilename());
    await saved.saveAs(path);
    await opened(path, async (report) => {
      const text = await report.locator('body').innerText();
      for (const said of [/Dealer <b>& Sons<\/b>/, /It was sold as tested\./, /Plate–cathode leakage, section 1/, /leakage resistance 6\d\d.kΩ/, /95 % interval/, /Held against: least insulation/, /For comparison: a 6DJ8 as published/, /cannot be concluded/, /Plate supplies kill/]) assert.match(text, said);
      assert.equal(await report.locator('svg').count(), 2);
      assert.equal(pages(await report.pdf({ preferCSSPageSize: true })), 1);
      await accessible(report, 'report');
    });
  });

  onPage('takes seller and reference from the lot of its tubes, and leaves what was written', {}, async (page) => {
    const values = () => page.evaluate(() => ['seller', 'reference'].map((field) => document.getElementById(`paper-${field}`).value));
    const ask = async () => {
      await page.locator('#paper-open').click();
      return values();
    };
    const write = () => Promise.all([page.waitForEvent('download'), page.locator('#paper-write').click()]);
    const simple = {
      schema: 'sweepbook/notebook/1', name: 'Shed',
      lots: [{ name: 'May', seller: 'Mayer', reference: '4711' }, { name: 'June', seller: 'Huber' }],
      tubes: [{ lot: 'May', label: 'A', type: '6SN7GTB' }, { lot: 'May', label: 'B', type: '6SN7GTB' }, { lot: 'June', label: 'C', type: '6SN7GTB' }],
    };
    await openCopy(page, 'shed.json', JSON.stringify(simple));
    await page.waitForSelector('#book:not([hidden])');
    await drop(page, ['A', 'B', 'C', 'D'].map((tube) => ({ name: `${tube}.csv`, text: CLEAR(tube) })));
    await settled(page, 4);
    await page.locator('#tubes').focus();
    await page.keyboard.press('Home');
    await page.waitForFunction(() => document.getElementById('own-lot').selectedOptions[0]?.text === 'May');
    assert.deepEqual(await ask(), ['Mayer', '4711']);
    assert.match(await page.locator('#paper-lot').innerText(), /To and Reference: from May/);
    // Of several lots there is no one seller.
    await page.locator('#paper-which input[value=all]').check();
    assert.deepEqual(await values(), ['', '']);
    assert.ok(await page.locator('#paper-lot').isHidden());
    await page.locator('#paper-which input[value=this]').check();
    await page.locator('#paper-reference').fill('4711/2');
    await page.locator('#paper-cancel').click();
    assert.deepEqual(await ask(), ['Mayer', '4711/2']);
    const [saved] = await write();
    assert.match(readFileSync(await saved.path(), 'utf8'), /Mayer[^]*4711\/2/);
    // Another lot's: not a word of the first one is left.
    await page.locator('#tubes').focus();
    for (let i = 0; i < 2; i++) await page.keyboard.press('ArrowDown');
    await page.waitForFunction(() => document.getElementById('own-lot').selectedOptions[0]?.text === 'June');
    assert.deepEqual(await ask(), ['Huber', '']);
    await accessible(page, 'from the lot');
    await page.locator('#paper-cancel').click();
    // Of no lot: to whom the last one went, to be changed.
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    await ownOpen(page);
    await page.locator('#own-lot').selectOption('');
    await page.waitForFunction(() => document.getElementById('spoken').textContent === 'The tube is in no lot');
    assert.deepEqual(await ask(), ['Mayer', '']);
  });

  test('of the sample lot has a page a tube and a summary, and nothing is cut', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'paper-'));
    const path = join(folder, 'lot.html');
    const samples = new URL('../../samples', import.meta.url).pathname;
    execFileSync(PROGRAM, ['report', samples, '-o', path, '--seller', 'A dealer', '--reference', '17', '--words', 'Sold as tested.'], { stdio: 'pipe' });
    assert.equal(readFileSync(path, 'utf8').match(/<article/g).length, 15);
    await opened(path, async (report) => {
      assert.equal(pages(await report.pdf({ preferCSSPageSize: true })), 15);
      assert.deepEqual(await beyond(report), []);
    });
  });
});
