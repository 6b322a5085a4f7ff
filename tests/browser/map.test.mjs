// Columns named by hand.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { SOUND, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';

const rows = (va) => [-4, -3, -2, -1, 0].map((vg, i) => `${va};${vg};x;${(0.3 * (va / 50 + i)).toFixed(2).replace('.', ',')}\n`).join('');
const BARE = `${rows(100)}${rows(150)}${rows(200)}`;
const WIDE = `knob;low;high\n${[-4, -3, -2, -1, 0].map((vg, i) => `${vg};${0.5 + i};${1.5 + i}\n`).join('')}`;

const at = setUp();
const { onPage } = at;

const refused = async (page, file) => {
  await drop(page, [file]);
  await page.waitForFunction(() => document.getElementById('progress').hidden && document.querySelector('#unread-list li'));
};
const column = (page, i) => page.locator('.map-column').nth(i);
const name = async (page, i, { what, unit, section, held }) => {
  await column(page, i).locator('[name=what]').selectOption(what);
  if (unit) await column(page, i).locator('[name=unit]').selectOption(unit);
  for (const [field, value] of [['section', section], ['held', held]]) {
    if (value === undefined) continue;
    await column(page, i).locator(`[name=${field}]`).fill(value);
    await column(page, i).locator(`[name=${field}]`).blur();
  }
};

/** The panel is open once it has the focus: the beginning of the file is read before. */
const opened = (page) => page.waitForFunction(() => document.activeElement.id === 'map-title');

describe('columns named by hand', () => {
  onPage('a table without heading is read by keyboard alone, and the next like it is offered the same', {}, async (page) => {
    await refused(page, { name: 'bare.txt', text: BARE });
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '[aria-label^="Name the columns"]');
    await page.keyboard.press('Enter');
    await opened(page);
    assert.ok(await page.locator('#map-read').isDisabled());
    assert.match(await page.locator('#map-rows').innerText(), /100\s+-4\s+x\s+0,60/);
    await pressUntil(page, 'Tab', '.map-column [name=what]');
    await page.keyboard.type('Va');
    await pressUntil(page, 'Tab', '.map-column:nth-child(2) [name=what]');
    await page.keyboard.type('Vg');
    await pressUntil(page, 'Tab', '.map-column:nth-child(4) [name=what]');
    await page.keyboard.type('Ia');
    await page.waitForSelector('#map-read:not([disabled])');
    assert.match(await page.locator('#map-words').innerText(), /15 points in 1 section of 1 tube/);
    assert.match(await page.locator('#map-gives').innerText(), /100.V\s+−4.V\s+600.µA/);
    await pressUntil(page, 'Tab', '#map-read');
    await page.keyboard.press('Enter');
    await settled(page, 1);
    assert.equal(await page.locator('#unread-list li').count(), 0);
    assert.match(await page.locator('#said-words').innerText(), /columns=Va \[V\];Vg \[V\];-;Ia \[mA\]/);

    await refused(page, { name: 'second.txt', text: BARE });
    await page.getByRole('button', { name: 'Name the columns of second.txt' }).click();
    await opened(page);
    assert.match(await page.locator('#map-prior').innerText(), /as you named them for bare\.txt/);
    await page.locator('#map-read').click();
    await settled(page, 2);
  });

  onPage('curves beside each other get their voltages and sections', {}, async (page) => {
    await refused(page, { name: 'wide.csv', text: WIDE });
    await page.getByRole('button', { name: 'Name the columns of wide.csv' }).click();
    await opened(page);
    assert.equal(await page.locator('#map-heading').inputValue(), '1');
    await name(page, 0, { what: 'vg', unit: 'V' });
    await name(page, 1, { what: 'ia', unit: 'mA', section: '1', held: '100' });
    await name(page, 2, { what: 'ia', unit: 'mA', section: '2', held: '100' });
    await page.waitForFunction(() => /10 points in 2 sections/.test(document.getElementById('map-words').textContent));
    await page.locator('#map-read').click();
    await settled(page, 1);
    assert.match(await page.locator('#tube-source').textContent(), /10 points/);
  });

  onPage('a table that was read can be read otherwise, and closing changes nothing', {}, async (page) => {
    await drop(page, [{ name: 'a.csv', text: 'Va [V],Vg [V],Ia [mA],spare\n100,-3,0.1,0.2\n100,-2,0.9,1.8\n100,-1,2.1,4.2\n' }]);
    await settled(page, 1);
    await page.locator('#by-hand').click();
    await opened(page);
    assert.equal(await column(page, 2).locator('[name=what]').inputValue(), 'ia');
    await page.keyboard.press('Escape');
    assert.ok(await page.locator('#said').isHidden());
    await page.locator('#by-hand').click();
    await opened(page);
    await name(page, 2, { what: '' });
    await name(page, 3, { what: 'ia', unit: 'mA' });
    await page.waitForSelector('#map-read:not([disabled])');
    await page.locator('#map-read').click();
    await page.waitForFunction(() => /-;Ia \[mA\]/.test(document.getElementById('said-words').textContent));
    await settled(page, 1);
  });

  for (const colorScheme of ['light', 'dark']) {
    for (const viewport of [{ width: 1366, height: 768 }, { width: 390, height: 844 }]) {
      onPage(`axe finds nothing and nothing is cut off, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        await drop(page, await fromDisk(SOUND));
        await settled(page, 1);
        await drop(page, [{ name: `${'endless'.repeat(20)}.txt`, text: BARE }]);
        await page.waitForSelector('#unread-list li');
        if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/map-before-${viewport.width}-${colorScheme}.png` });
        await page.getByRole('button', { name: /^Name the columns of/ }).click();
        await opened(page);
        await name(page, 0, { what: 'va' });
        await name(page, 1, { what: 'vg' });
        await accessible(page, 'open');
        await name(page, 3, { what: 'ia', unit: 'mA' });
        await page.waitForSelector('#map-read:not([disabled])');
        await accessible(page, 'named');
        assert.ok(await page.evaluate(() => document.getElementById('map').scrollWidth <= document.getElementById('map').clientWidth), 'panel');
        if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/map-${viewport.width}-${colorScheme}.png` });
      });
    }
  }
});
