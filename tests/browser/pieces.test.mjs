// One tube over several files.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { SOUND, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';

const { onPage } = setUp();

/** A tube of two sections as a file for each, called as its sections. */
async function pieces(name) {
  const [{ text }] = await fromDisk(SOUND);
  const lines = text.split('\n').filter((line) => !/^#\s*(tube|section)\s*:/i.test(line));
  const head = lines.findIndex((line) => line.startsWith('section,'));
  const rows = (section) => lines.slice(head + 1).filter((line) => line.startsWith(`${section},`)).map((line) => line.slice(2));
  const above = [...lines.slice(0, head), lines[head].replace('section,', '')];
  return ['1', '2'].map((section) => ({ name: `${name}-${section}.csv`, text: [...above, ...rows(section)].join('\n') }));
}

const sections = (page) => page.locator('#figures-table thead').innerText();

describe('pieces of one tube', () => {
  onPage('are shown before they are put together, by keyboard, and stay together when they are read again', {}, async (page) => {
    await drop(page, await pieces('A-7'));
    await settled(page, 2);
    await page.waitForSelector('#pieces:not([hidden])');
    assert.match(await page.locator('#pieces-list').innerText(), /A-7\s+would be A-7-1\.csv \(section 1\) and A-7-2\.csv \(section 2\)/);
    await accessible(page, 'offered');
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '[aria-label="Put together: A-7"]');
    await page.keyboard.press('Enter');
    await settled(page, 1);
    assert.equal(await page.locator('#tube-title').innerText(), 'A-7');
    assert.match(await page.locator('#tube-source').innerText(), /A-7-1\.csv, A-7-2\.csv/);
    assert.equal(await page.evaluate(() => document.activeElement.id), 'tube-title');
    assert.ok(await page.locator('#by-hand').isHidden());
    // Another bench: both files are read again, and put together as before.
    await page.locator('#bench-edit').click();
    await page.locator('#bench-name').fill('Workshop');
    await page.locator('#bench-grid_source_resistance').fill('10 kohm');
    await page.locator('#bench-form .primary').click();
    await page.keyboard.press('Escape');
    await page.locator('#bench-choice').selectOption('Workshop');
    await page.waitForFunction(() => document.getElementById('notes-list').innerText.includes('the bench profile says 10.0 kΩ'));
    await page.waitForFunction(() => /A-7-1\.csv, A-7-2\.csv/.test(document.getElementById('tube-source').innerText));
    await settled(page, 1);
    await page.getByRole('button', { name: 'Take apart' }).click();
    await settled(page, 2);
    assert.ok(await page.locator('#pieces').isHidden());
  });

  onPage('are kept apart if that is said, and two at a time are put together at once', {}, async (page) => {
    await drop(page, [...await pieces('A-7'), ...await pieces('A-8'), ...await pieces('A-9')]);
    await settled(page, 6);
    await page.waitForSelector('#pieces:not([hidden])');
    await page.getByRole('button', { name: 'Keep apart: the files of A-8' }).click();
    await page.getByRole('button', { name: 'Put all together' }).click();
    await settled(page, 4);
    assert.ok(await page.locator('#pieces').isHidden());
  });
});
