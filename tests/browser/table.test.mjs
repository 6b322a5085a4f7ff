// The lot as a table, what is done with several tubes, and a batch that was bought.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { accessible, drop, pressUntil, setUp, settled } from './harness.mjs';
import { sweep } from './triode.mjs';

const { onPage } = setUp();

/** A lot whose tubes are not in the order of their plate currents. */
const LOT = [['T1', 1], ['T2', 1.2], ['T3', 0.9], ['T4', 1.1], ['T5', 0.8]];

async function tabled(page, lot = LOT) {
  await drop(page, lot.map(([name, factor]) => sweep(name, factor)));
  await settled(page, lot.length);
  await page.locator('#view label', { hasText: 'Table' }).click();
  await page.waitForSelector('#table-rows [role=row]');
}

const names = (page) => page.locator('#table-rows [role=row]').evaluateAll((rows) => rows
  .sort((a, b) => a.dataset.place - b.dataset.place).map((row) => row.querySelector('[role=rowheader] button').textContent));

describe('the lot as a table', () => {
  onPage('shows a row a tube with its curves and figures, ordered by any column both ways', {}, async (page) => {
    await tabled(page);
    assert.equal(await page.locator('#sheet').isVisible(), false);
    assert.deepEqual(await names(page), ['T1', 'T2', 'T3', 'T4', 'T5']);
    const row = page.locator('#table-rows [role=row]').first();
    assert.match(await row.innerText(), /6SN7GTB[\s\S]*mA[\s\S]*mS[\s\S]*kΩ/);
    assert.ok(await row.locator('svg path').count() > 0);
    const ia = page.getByRole('columnheader', { name: 'Ia' });
    await ia.getByRole('button').click();
    assert.deepEqual(await names(page), ['T5', 'T3', 'T1', 'T4', 'T2']);
    assert.equal(await ia.getAttribute('aria-sort'), 'ascending');
    await ia.getByRole('button').click();
    assert.deepEqual(await names(page), ['T2', 'T4', 'T1', 'T3', 'T5']);
    assert.equal(await ia.getAttribute('aria-sort'), 'descending');
    await page.fill('#find', 'T4');
    assert.deepEqual(await names(page), ['T4']);
    await accessible(page, 'table');
  });

  onPage('is gone through, ticked and left by keyboard', {}, async (page) => {
    await tabled(page);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#table');
    await page.evaluate(() => document.getElementById('table').focus());
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Space');
    await page.keyboard.press('Shift+ArrowDown');
    await page.keyboard.press('Shift+ArrowDown');
    assert.equal(await page.textContent('#ticked-count'), '3 tubes ticked');
    assert.equal(await page.getAttribute('#table', 'aria-activedescendant'), 'row-3');
    assert.deepEqual(await page.locator('#table-rows [aria-selected=true] [role=rowheader] button').allTextContents(), ['T2', 'T3', 'T4']);
    await page.keyboard.press('Control+a');
    assert.equal(await page.textContent('#ticked-count'), '5 tubes ticked');
    await page.keyboard.press('End');
    await page.keyboard.press('Enter');
    assert.equal(await page.textContent('#tube-title'), 'T5');
    assert.equal(await page.evaluate(() => document.activeElement.id), 'tube-title');
    assert.equal(await page.locator('#table').isVisible(), false);
  });

  onPage('decides on several tubes at once, undone as one', {}, async (page) => {
    await tabled(page);
    for (const name of ['Tick T2', 'Tick T3']) await page.getByRole('checkbox', { name }).click();
    await page.click('#many-open');
    await page.click('#many-choices label:has([value=restrict])');
    await page.click('#many-form .primary');
    await page.waitForSelector('#many-bad:not([hidden])');
    assert.match(await page.textContent('#many-bad'), /why/i);
    await page.fill('#many-reason', 'too microphonic for the first stage');
    await accessible(page, 'decision on several');
    await page.click('#many-form .primary');
    await page.waitForFunction(() => !document.getElementById('many').open);
    const own = () => page.locator('#table-rows [role=row]').evaluateAll((rows) => rows
      .sort((a, b) => a.dataset.place - b.dataset.place).map((row) => row.children[4].textContent));
    await page.waitForFunction(() => document.querySelector('#table-rows').textContent.includes('Restrict'));
    assert.deepEqual(await own(), ['', 'Restrict', 'Restrict', '', '']);
    await page.click('#book-undo');
    await page.waitForFunction(() => ![...document.querySelectorAll('#table-rows [role=row]')].some((row) => row.children[4].textContent));
  });

  onPage('matches the ticked tubes only, and reports on them', {}, async (page) => {
    await tabled(page);
    for (const name of ['Tick T1', 'Tick T4']) await page.getByRole('checkbox', { name }).click();
    await page.click('#match-open');
    assert.equal(await page.inputValue('#match-among'), 'ticked');
    await page.check('#match-restricted');
    await page.click('#match-go');
    await page.waitForFunction(() => document.getElementById('match-result').textContent);
    assert.doesNotMatch(await page.textContent('#match-result'), /T2|T3|T5/);
    await page.click('#match-done');
    await page.click('#paper-open');
    const saved = page.waitForEvent('download');
    await page.click('#paper-write');
    const file = await (await saved).createReadStream();
    let text = '';
    for await (const piece of file) text += piece;
    assert.ok(text.includes('Tube T1') && text.includes('Tube T4') && !text.includes('Tube T2'));
  });

  onPage('lays ticked tubes over each other, shows their differences, and holds them against another', {}, async (page) => {
    await tabled(page);
    assert.equal(await page.isDisabled('#compare-open'), true);
    for (const name of ['Tick T1', 'Tick T4']) await page.getByRole('checkbox', { name }).click();
    await page.click('#compare-open');
    await page.waitForFunction(() => document.querySelector('#compare-picture img')?.naturalWidth > 0);
    const row = () => page.locator('#compare-rows tr').first().innerText();
    // T4 has 1.1 times the current of T1.
    await page.waitForFunction(() => document.querySelector('#compare-rows td'));
    assert.match(await row(), /T4\s+T1\s+\+10\.0.%\s+\+[\d.]+.mA at Va/);
    assert.match(await page.locator('#compare-figures tr').nth(1).innerText(), /lowest \+\d+\.\d %/);
    await page.locator('#compare-as label', { hasText: 'Difference' }).click();
    await page.waitForFunction(() => document.querySelector('#compare-picture img')?.alt.startsWith('How the plate currents') && document.querySelector('#compare-picture img').naturalWidth > 0);
    await page.selectOption('#compare-from', { label: 'T4' });
    await page.waitForFunction(() => document.querySelector('#compare-rows th').textContent === 'T1');
    assert.match(await row(), /T1\s+T4\s+\u2212\d+\.\d.%/);
    await accessible(page, 'compare');
  });

  onPage('tells what time did to a tube, by the dates of its sweeps', {}, async (page) => {
    const dated = (file, factor, date) => ({ name: file, text: sweep('T1', factor, `# date: ${date}\n`).text });
    await drop(page, [dated('late.csv', 0.8, '2026-11-02'), dated('early.csv', 1, '2026-03-01'), dated('middle.csv', 0.9, '2026-07-15')]);
    await settled(page, 3);
    await page.locator('#view label', { hasText: 'Table' }).click();
    await page.click('#tick-all');
    await page.click('#compare-open');
    await page.waitForFunction(() => document.querySelector('#compare-trends p'));
    // 0.9 and 0.8 of the first one's perveance.
    assert.match(await page.textContent('#compare-trends'), /T1, 3 sweeps by their dates.*Ia \u2212(9\.\d|10\.\d) %, \u2212(19\.\d|20\.\d) %; gm \u2212/);
  });

  onPage('keeps few rows in the document, the active one among them, of a lot of any size', {}, async (page) => {
    const small = (i) => ({ name: `n${i}.csv`, text: `# tube: N${i}\nVa [V],Vg [V],Ia [mA]\n100,-2,0.1\n100,-1,1\n100,0,3\n` });
    await drop(page, Array.from({ length: 300 }, (_, i) => small(i)));
    await settled(page, 300);
    await page.locator('#view label', { hasText: 'Table' }).click();
    await page.focus('#table');
    await page.keyboard.press('End');
    await page.waitForSelector('#row-299');
    assert.ok(await page.locator('#table-rows [role=row]').count() < 60);
    assert.equal(await page.getAttribute('#table', 'aria-rowcount'), '301');
    await page.evaluate(() => { document.getElementById('table').scrollTop = 0; });
    await page.waitForSelector('#row-0');
    assert.equal(await page.locator('#row-299.active').count(), 1);
    await page.keyboard.press('ArrowUp');
    const inSight = await page.locator('#row-298').evaluate((row) => {
      const [a, b] = [row.getBoundingClientRect(), document.getElementById('table').getBoundingClientRect()];
      return { above: b.top - a.top, below: a.bottom - b.bottom };
    });
    assert.ok(inSight.above <= 0 && inSight.below <= 1, JSON.stringify(inSight));
  });

  onPage('says what comes of a batch that was bought', {}, async (page) => {
    await tabled(page);
    await page.click('#batch summary');
    await page.fill('#batch-bought', '12');
    // Letter B at 4 % has a sample of 3, taken with none faulty (MIL-STD-105E, tables I and II-A).
    assert.match(await page.textContent('#batch-says'), /sweep 3 of them.*up to 0 faulty/);
    await page.fill('#batch-bought', '1.5');
    assert.equal(await page.locator('#batch-bad').isVisible(), true);
    assert.equal(await page.textContent('#batch-says'), '');
    await page.fill('#batch-bought', '1000');
    assert.match(await page.textContent('#batch-says'), /sweep 80 of them/);
    await accessible(page, 'batch');
  });
});
