// From a file to the printed report by the keyboard alone.
import assert from 'node:assert/strict';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe } from 'node:test';
import { pathToFileURL } from 'node:url';
import { LEAKY, SOUND, pressUntil, setUp, settled } from './harness.mjs';
import { kept, word } from './notebook.mjs';
import { beyond, pages } from './printed.mjs';

const at = setUp();
const { onPage } = at;

describe('the keyboard alone', () => {
  onPage('goes from a file to the printed report', {}, async (page, context) => {
    await page.evaluate(() => {
      globalThis.pointed = [];
      for (const type of ['pointerdown', 'mousedown', 'touchstart']) addEventListener(type, ({ isTrusted }) => { if (isTrusted) globalThis.pointed.push(type); }, true);
    });
    const focused = (ask) => page.evaluate(ask);
    // The file: a chooser of the system's, opened by a key.
    // Waited for from here on: the browser has to be told before the key comes.
    const choosing = page.waitForEvent('filechooser');
    await pressUntil(page, 'Tab', '.masthead [data-do=open]');
    await page.keyboard.press('Enter');
    const chooser = await choosing;
    await chooser.setFiles([SOUND, LEAKY]);
    await settled(page, 2);
    // The tube.
    await pressUntil(page, 'Tab', '#tubes');
    await page.keyboard.press('End');
    assert.equal(await page.locator('#tube-title').textContent(), '009');
    // A finding, where its points are shown; what it says unfolds.
    await pressUntil(page, 'Tab', '#findings .finding');
    assert.match(await focused(() => document.activeElement.closest('.finding').querySelector('h4').textContent), /plate.cathode leakage/i);
    await pressUntil(page, 'Tab', '#findings .finding summary');
    await page.keyboard.press('Enter');
    assert.equal(await focused(() => document.activeElement.parentElement.open), true);
    // The decision, which begins a notebook.
    await pressUntil(page, 'Shift+Tab', '#own-summary');
    await page.keyboard.press('Enter');
    await pressUntil(page, 'Tab', '[name=own-choice]');
    for (let i = 0; i < 4 && !await focused(() => document.activeElement.value === 'reject' && document.activeElement.checked); i++) await page.keyboard.press('ArrowDown');
    await pressUntil(page, 'Tab', '#own-reason');
    await page.keyboard.type('Leaks beyond what the circuit bears.');
    await pressUntil(page, 'Tab', '#own-decision .primary');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'Reject');
    await kept(page);
    // The report on this tube.
    await pressUntil(page, 'Shift+Tab', '#paper-open');
    await page.keyboard.press('Enter');
    await pressUntil(page, 'Tab', '#paper-which input');
    assert.match(await focused(() => document.activeElement.closest('label').textContent), /Tube 009/);
    await pressUntil(page, 'Tab', '#paper-seller');
    await page.keyboard.type('Mayer');
    await pressUntil(page, 'Tab', '#paper-words');
    await page.keyboard.type('It leaks.');
    await pressUntil(page, 'Tab', '#paper-write');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
    await page.waitForFunction(() => !document.getElementById('paper').open);
    // The focus is where it came from, and no pointer was used.
    assert.equal(await focused(() => document.activeElement.id), 'paper-open');
    assert.deepEqual(await focused(() => globalThis.pointed), []);
    assert.equal(await word(page), 'Reject');

    const folder = mkdtempSync(join(tmpdir(), 'keyboard-'));
    const path = join(folder, saved.suggestedFilename());
    await saved.saveAs(path);
    const report = await context.newPage();
    await report.goto(pathToFileURL(path).href);
    const pdf = await report.pdf({ preferCSSPageSize: true, path: process.env.SWEEPBOOK_PICTURES && `${process.env.SWEEPBOOK_PICTURES}/report.pdf` });
    writeFileSync(join(folder, 'report.pdf'), pdf);
    assert.equal(pages(pdf), 1);
    assert.match(await report.locator('body').innerText(), /Mayer[^]*It leaks\./);
    assert.deepEqual(await beyond(report), []);
  });
});
