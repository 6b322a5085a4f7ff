// Like tubes put together on the page.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { accessible, drop, pressUntil, setUp, settled } from './harness.mjs';
import { sweep } from './triode.mjs';

const { onPage } = setUp();

/** As a bench says all that it adds. */
const BENCH = '# grid_source_resistance: 0 ohm\n# current_meter: plate lead\n';

describe('matching', () => {
  onPage('finds the pairs by keyboard, lays their curves over each other and opens a tube', {}, async (page) => {
    await drop(page, [['A', 1], ['B', 1.1], ['C', 1.004], ['D', 1.097]].map(([name, factor]) => sweep(name, factor, BENCH)));
    await settled(page, 4);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#match-open');
    await page.keyboard.press('Enter');
    await pressUntil(page, 'Tab', '#match-restricted');
    await page.keyboard.press('Space');
    await pressUntil(page, 'Tab', '#match-go');
    await page.keyboard.press('Enter');
    await page.waitForSelector('.match-groups > li');
    const pairs = await page.locator('.match-names').evaluateAll((all) => all.map((one) => [...one.children].map((b) => b.textContent)));
    assert.deepEqual(pairs.map((pair) => pair.join('')).sort(), ['AC', 'BD']);
    assert.match(await page.locator('.match-groups > li').first().innerText(), /differ by\s*0\.\d.%.*plate current.*bias\s*[\d.]+.mV/s);
    await accessible(page, 'groups');
    await pressUntil(page, 'Tab', '.match-groups summary');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelector('.match-groups img')?.naturalWidth > 0);
    await page.getByRole('button', { name: 'Open C' }).click();
    assert.equal(await page.locator('#tube-title').innerText(), 'C');
    assert.equal(await page.evaluate(() => document.activeElement.id), 'tube-title');
  });

  onPage('says what is wrong with an operating point, and that too few take part', {}, async (page) => {
    await drop(page, [sweep('A', 1, BENCH)]);
    await settled(page, 1);
    await page.locator('#match-open').click();
    await page.locator('#match-va').fill('250');
    await page.locator('#match-go').click();
    assert.match(await page.locator('#match-bad').innerText(), /both voltages/);
    await page.locator('#match-vg').fill('-8');
    await page.locator('#match-go').click();
    await page.waitForSelector('#match-result h3');
    assert.match(await page.locator('#match-result').innerText(), /Too few/);
  });
});
