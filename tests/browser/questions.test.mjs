// Files that can be read in more than one way: the page asks.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { accessible, drop, pressUntil, setUp, settled } from './harness.mjs';

// Is 1,234 a little over one, or more than a thousand?
const rows = (va) => [-4, -3, -2, -1, 0].map((vg, i) => `${va};${vg};${(va / 50) + i},${123 + 111 * i}\n`).join('');
const UNCLEAR = `Va [V];Vg [V];Ia [uA]\n${rows(100)}${rows(150)}${rows(200)}`;
const CLEAR = 'Va [V],Vg [V],Ia [mA]\n100,-3,0.1\n100,-2,0.9\n100,-1,2.1\n';

const at = setUp();
const { onPage } = at;

const asked = (page, n) => page.waitForFunction((n) => document.getElementById('progress').hidden
  && document.querySelectorAll('#questions-list > li').length === n, n);
const focused = (page) => page.evaluate(() => document.activeElement.id || document.activeElement.outerHTML.slice(0, 80));
/** The first plate current in the table of the figure's numbers. */
const current = (page) => page.evaluate(() => {
  const details = document.getElementById('numbers');
  details.open = false;
  return new Promise((resolve) => {
    const wait = () => (document.querySelector('#tables td') ? resolve(document.getElementById('tables').innerText) : requestAnimationFrame(wait));
    details.open = true;
    wait();
  });
});

describe('a file that can be read in two ways', () => {
  onPage('is answered by keyboard alone, and answered otherwise', {}, async (page) => {
    await drop(page, [{ name: 'b.csv', text: UNCLEAR }]);
    await asked(page, 1);
    assert.equal(await page.locator('#unread-list li').count(), 0);
    assert.match(await focused(page), /^question-title-/);
    const panel = page.locator('#questions-list > li');
    assert.match(await panel.innerText(), /b\.csv[^]*decimal comma or set thousands apart[^]*It is 2\.123/);
    assert.equal(await panel.locator('.candidate').count(), 2);
    assert.match(await panel.locator('.candidate').nth(0).innerText(), /2\.12.µA/);
    assert.match(await panel.locator('.candidate').nth(1).innerText(), /2\.12.mA/);
    assert.equal(await panel.locator('input:checked').count(), 0, 'nothing is decided beforehand');
    // Without a choice it stays, and the choice is asked for.
    await pressUntil(page, 'Tab', '#questions [type=submit]');
    await page.keyboard.press('Enter');
    assert.equal(await panel.count(), 1);
    await page.evaluate(() => document.querySelector('[id^=question-title-]').focus());
    await pressUntil(page, 'Tab', '.candidate input');
    await page.keyboard.press('Space');
    await page.keyboard.press('Enter');
    await settled(page, 1);
    await asked(page, 0);
    assert.equal(await focused(page), 'tube-title');
    assert.ok(await page.locator('#questions').isHidden());
    assert.match(await page.locator('#said').innerText(), /Read as you answered: it is 2\.123.*decimal=comma/);
    assert.match(await current(page), /µA/);

    await pressUntil(page, 'Tab', '#read-differently');
    await page.keyboard.press('Enter');
    await asked(page, 1);
    assert.match(await focused(page), /^question-title-/);
    assert.equal(await panel.locator('input:checked').getAttribute('value'), 'decimal=comma');
    assert.equal(await page.locator('#tubes [role=option]').count(), 1, 'it stays until the answer');
    await pressUntil(page, 'Tab', '.candidate input');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Enter');
    await asked(page, 0);
    await settled(page, 1);
    assert.match(await page.locator('#said').innerText(), /decimal=point/);
    assert.match(await current(page), /mA/);

    await page.locator('#read-differently').click();
    await asked(page, 1);
    await panel.getByText('Keep it as it is read').click();
    await asked(page, 0);
    assert.match(await page.locator('#said').innerText(), /decimal=point/);
    assert.equal(await focused(page), 'tube-title');
  });

  onPage('offers the answer to the next like file, also after a reload, and can forget it', {}, async (page) => {
    await drop(page, [{ name: 'first.csv', text: UNCLEAR }]);
    await asked(page, 1);
    await page.locator('.candidate').nth(1).click();
    await page.locator('#questions .primary').click();
    await settled(page, 1);
    await page.reload();
    await page.waitForSelector('body.ready');
    await drop(page, [{ name: 'second.csv', text: UNCLEAR }]);
    await asked(page, 1);
    assert.equal(await page.locator('#tubes [role=option]').count(), 0, 'offered, not applied');
    assert.equal(await page.locator('.candidate input:checked').getAttribute('value'), 'decimal=point');
    assert.match(await page.locator('.prior').innerText(), /as you answered for first\.csv/);
    await page.locator('.prior button').click();
    assert.equal(await page.locator('.candidate input:checked').count(), 0);
    await page.reload();
    await page.waitForSelector('body.ready');
    await drop(page, [{ name: 'third.csv', text: UNCLEAR }]);
    await asked(page, 1);
    assert.equal(await page.locator('.candidate input:checked').count(), 0);
    // Another heading is another kind of file.
    await page.locator('.candidate').nth(0).click();
    await page.locator('#questions .primary').click();
    await settled(page, 1);
    await drop(page, [{ name: 'other.csv', text: UNCLEAR.replace('Va [V]', 'plate [V]') }]);
    await asked(page, 1);
    assert.equal(await page.locator('.candidate input:checked').count(), 0);
  });

  onPage('can be answered for all files like it at once', {}, async (page) => {
    await drop(page, [...Array.from({ length: 7 }, (_, i) => ({ name: `${i}.csv`, text: UNCLEAR })), { name: 'clear.csv', text: CLEAR }]);
    await settled(page, 1);
    await asked(page, 5);
    assert.match(await page.locator('#questions-more').innerText(), /2 more files/);
    const panel = page.locator('#questions-list > li').first();
    await panel.locator('.candidate').nth(0).click();
    await panel.getByText('Read it and 6 like it this way').click();
    await settled(page, 8);
    await asked(page, 0);
    assert.equal(await page.evaluate(() => document.activeElement.id), 'tube-title');
  });

  onPage('asks its next question once the first is answered', {}, async (page) => {
    // The grid's minus was left out as well.
    await drop(page, [{ name: 'b.csv', text: UNCLEAR.replaceAll(';-', ';') }]);
    await asked(page, 1);
    await page.locator('.candidate').nth(1).click();
    await page.locator('#questions .primary').click();
    await page.waitForFunction(() => /grid voltage is positive/.test(document.querySelector('.what')?.innerText));
    assert.match(await focused(page), /^question-title-/);
    assert.deepEqual(await page.locator('.candidate input').evaluateAll((all) => all.map((i) => i.value)), ['vg=negative', 'vg=as-written']);
    assert.match(await page.locator('.candidate').nth(0).innerText(), /−4.V/);
    await page.locator('.candidate').nth(0).click();
    await page.locator('#questions .primary').click();
    await settled(page, 1);
    await asked(page, 0);
    assert.match(await page.locator('#said').innerText(), /decimal=point.*vg=negative/);
    // Asked again, each step has the answer that was given.
    await page.locator('#read-differently').click();
    for (const option of ['decimal=point', 'vg=negative']) {
      await page.waitForSelector(`.candidate input[value="${option}"]:checked`);
      await page.locator('#questions .primary').click();
    }
    await asked(page, 0);
    await settled(page, 1);
  });

  onPage('is not asked about where nothing else fits, and the notes say so', {}, async (page) => {
    const text = '# type: 6SN7GTB\nVa [V],Vg [V],Ia\n100,-4,0.5\n100,-2,2.5\n100,0,9.0\n';
    await drop(page, [{ name: 'a.csv', text }]);
    await settled(page, 1);
    await asked(page, 0);
    assert.match(await page.locator('#notes-list').innerText(), /nothing else fits/);
  });

  onPage('counts as not read in the report, and can be left out', {}, async (page) => {
    const report = async () => {
      const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#save-report').click()]);
      return JSON.parse(await readFile(await download.path(), 'utf8'));
    };
    await drop(page, [{ name: 'clear.csv', text: CLEAR }, { name: 'b.csv', text: UNCLEAR }]);
    await settled(page, 1);
    await asked(page, 1);
    const { tubes, unread } = await report();
    assert.deepEqual([tubes.length, unread.map(({ source }) => source)], [1, ['b.csv']]);
    await page.getByText('Leave this file out').click();
    await asked(page, 0);
    assert.equal((await report()).unread.length, 0);
  });

  test('is asked about where the browser keeps nothing', async () => {
    const context = await at.browser.newContext();
    await context.addInitScript(() => {
      Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('refused', 'SecurityError'); } });
    });
    const page = await context.newPage();
    const wrong = [];
    page.on('pageerror', (error) => wrong.push(error.message));
    await page.goto(at.base);
    await page.waitForSelector('body.ready');
    for (const [name, tubes] of [['a.csv', 1], ['b.csv', 2]]) {
      await drop(page, [{ name, text: UNCLEAR }]);
      await asked(page, 1);
      if (tubes === 1) await page.locator('.candidate').nth(0).click();
      // Known to this page all the same.
      await page.locator('#questions .primary').click();
      await settled(page, tubes);
    }
    assert.deepEqual(wrong, []);
    await context.close();
  });

  onPage('shows markup in its name as text', {}, async (page) => {
    const name = '<img src=x onerror=alert(1)>.csv';
    await drop(page, [{ name, text: UNCLEAR }, { name: `2 ${name}`, text: UNCLEAR }]);
    await page.waitForFunction(() => document.getElementById('progress').hidden && document.querySelector('.question'));
    assert.equal(await page.locator('main img').count(), 0);
    assert.ok((await page.locator('#questions').innerText()).includes(`2 ${name}`));
  });

  for (const colorScheme of ['light', 'dark']) {
    for (const viewport of [{ width: 1366, height: 768 }, { width: 390, height: 844 }, { width: 320, height: 640 }]) {
      onPage(`axe finds nothing and nothing is cut off, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        await drop(page, [{ name: 'b.csv', text: UNCLEAR }, { name: `${'endless'.repeat(20)}.csv`, text: UNCLEAR }]);
        await asked(page, 2);
        await page.locator('.candidate').first().click();
        await accessible(page, 'asked');
        assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth), 'asked');
        if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/asked-${viewport.width}-${colorScheme}.png` });
        await page.locator('#questions .primary').first().click();
        await settled(page, 1);
        await page.locator('#questions .primary').click();
        await settled(page, 2);
        await accessible(page, 'answered');
        assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth), 'answered');
        if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/answered-${viewport.width}-${colorScheme}.png` });
      });
    }
  }
});
