// What the notebook holds of a tube, a store that fails, the keyboard and the eye.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { LEAKY, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';
import { begin, books, CLEAR, copy, decide, kept, labels, note, notes, ownOpen, picture, word } from './notebook.mjs';

const at = setUp();
const { onPage } = at;

describe('a tube in its notebook', () => {
  onPage('has photos, made smaller and kept', {}, async (page) => {
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await ownOpen(page);
    await page.locator('#own-photo-file').setInputFiles([
      { name: 'large.png', mimeType: 'image/png', buffer: await picture(page, 2400, 1200) },
      { name: 'small.png', mimeType: 'image/png', buffer: await picture(page, 40, 30) },
      { name: 'none.png', mimeType: 'image/png', buffer: Buffer.from('no picture') },
    ]);
    await page.waitForFunction(() => document.querySelectorAll('#own-photos img').length === 2 && !document.getElementById('own-photo-bad').hidden);
    assert.match(await page.locator('#own-photo-bad').innerText(), /none\.png is no picture/);
    const caption = page.locator('#own-photos input').first();
    await caption.fill('The getter');
    await caption.press('Tab');
    await page.waitForFunction(() => document.querySelector('#own-photos img').alt === 'The getter');
    await kept(page);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    await ownOpen(page);
    await page.waitForFunction(() => [...document.querySelectorAll('#own-photos img')].filter((img) => img.complete && img.naturalWidth).length === 2);
    assert.deepEqual(await page.locator('#own-photos img').evaluateAll((all) => all.map((img) => [img.naturalWidth, img.naturalHeight])), [[1600, 800], [40, 30]]);
    const { changes, files } = JSON.parse(await copy(page));
    const { hash } = changes.find(({ what }) => what.do === 'add-photo').what;
    assert.deepEqual([...Buffer.from(files[hash], 'base64').subarray(0, 3)], [0xff, 0xd8, 0xff], 'a JPEG');
    await page.getByRole('button', { name: 'Remove: The getter' }).click();
    await page.waitForFunction(() => document.querySelectorAll('#own-photos img').length === 1);
    await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelectorAll('#own-photos img').length === 2);
    await accessible(page, 'photos');
  });

  onPage('is in a lot, of which it is written where it was bought', {}, async (page) => {
    await begin(page);
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }, { name: 'b.csv', text: CLEAR(2) }]);
    await settled(page, 2);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(page);
    await page.locator('#lots-open').click();
    for (const [field, value] of [['name', 'Lot of May'], ['seller', 'Mayer'], ['price', '40,50'], ['currency', 'EUR'], ['bought-on', '2026-05-01'], ['bought', 'ten']]) await page.locator(`#lots-${field}`).fill(value);
    await page.locator('#lots-form .primary').click();
    await page.waitForSelector('#lots-bad:not([hidden])');
    assert.equal(await page.evaluate(() => document.activeElement.id), 'lots-bought');
    await page.locator('#lots-bought').fill('10');
    await page.locator('#lots-form .primary').click();
    await page.waitForFunction(() => document.getElementById('lots-which').selectedOptions[0].text === 'Lot of May');
    await accessible(page, 'lots');
    await page.locator('#lots-which').selectOption('');
    await page.locator('#lots-name').fill('Lot of June');
    await page.locator('#lots-form .primary').click();
    await page.waitForFunction(() => document.getElementById('lots-which').selectedOptions[0].text === 'Lot of June');
    await page.locator('#lots-done').click();
    await ownOpen(page);
    const lot = () => page.evaluate(() => document.getElementById('own-lot').selectedOptions[0].text);
    assert.equal(await lot(), 'Lot of May', 'tubes that were in no lot came into the first');
    await page.locator('#own-lot').selectOption({ label: 'Lot of June' });
    await kept(page);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 2);
    await page.locator('#tubes [role=option]').first().click();
    assert.equal(await lot(), 'Lot of June');
    await page.locator('#lots-open').click();
    await page.locator('#lots-which').selectOption({ label: 'Lot of May' });
    assert.deepEqual(await page.evaluate(() => ['seller', 'price', 'bought-on', 'bought'].map((field) => document.getElementById(`lots-${field}`).value)), ['Mayer', '40,50', '2026-05-01', '10']);
  });

  onPage('what was seen beside the sweep moves its findings, and says how', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    const verdict = await page.locator('#stamp').innerText();
    await ownOpen(page);
    await page.locator('#own-seen-what').selectOption('insulation');
    await page.locator('#own-seen-ohm').fill('5 GΩ');
    await page.locator('#own-seen-form button').click();
    const beside = page.locator('#findings .finding .beside').first();
    await page.waitForFunction(() => document.querySelector('#findings .finding .beside'));
    assert.match(await beside.innerText(), /Plate–cathode leakage in section 1: \d+.% → \d+.%[^]*Cold insulation plate–cathode 5\.00 GΩ: odds 10 times down/);
    // The tester's lamp counts little, and how little is the user's to say.
    await page.locator('#own-seen-what').selectOption('grid');
    await page.locator('#own-seen-counts').selectOption('2');
    await page.locator('#own-seen-form button').click();
    await page.waitForFunction(() => /Not found in the sweep[^]*Gas[^]*odds 2\.0 times up/.test(document.getElementById('findings').innerText));
    assert.equal(await page.locator('#own-seen-counts').inputValue(), '2');
    assert.equal(await page.locator('#stamp').innerText(), verdict, 'the verdict stays the sweep’s');
    assert.match(await page.locator('#own-standing').innerText(), /\S/);
    await accessible(page, 'weighed');
    if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/weighed.png`, fullPage: true });
    await page.locator('#book-undo').click();
    await page.waitForFunction(() => !/Gas/.test(document.getElementById('findings').innerText));
  });
});

describe('pieces of one tube', () => {
  onPage('stay together in the notebook, and apart once they are taken apart', {}, async (page) => {
    const piece = (section) => ({ name: `A-7-${section}.csv`, text: `# type: 6SN7GTB\nVa [V],Vg [V],Ia [mA]\n100,-3,0.${section}\n100,-2,0.9\n100,-1,2.1\n` });
    await begin(page);
    await drop(page, [piece(1), piece(2)]);
    await settled(page, 2);
    await page.locator('[aria-label="Put together: A-7"]').click();
    await settled(page, 1);
    await page.waitForFunction(() => document.getElementById('tube-title').innerText === 'A-7');
    await decide(page, 'Reject', 'Weak.');
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'Reject');
    await kept(page);
    const changes = JSON.parse(await copy(page)).changes.length;
    for (let i = 0; i < 2; i++) {
      await page.reload();
      await page.waitForSelector('body.ready');
      await page.waitForFunction(() => [...document.querySelectorAll('#tubes .tube-name')].map((one) => one.innerText).join() === 'A-7');
      await settled(page, 1);
      assert.equal(await word(page), 'Reject');
    }
    assert.equal(JSON.parse(await copy(page)).changes.length, changes, 'opening writes nothing');
    await page.getByRole('button', { name: 'Take apart' }).click();
    await settled(page, 2);
    await kept(page);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 2);
    assert.deepEqual((await labels(page)).sort(), ['A-7-1', 'A-7-2']);
  });
});

describe('an open question', () => {
  onPage('is asked to be settled, and settled by what is measured', {}, async (page) => {
    // One plate voltage alone does not part a leak from an offset of the meter.
    const [{ name, text }] = await fromDisk(LEAKY);
    const one = text.split('\n').filter((line) => line.startsWith('#') || line.startsWith('section') || line.split(',')[1] === '100').join('\n');
    await drop(page, [{ name, text: one }]);
    await settled(page, 1);
    const card = page.locator('#findings .finding', { has: page.getByRole('heading', { name: 'Plate–cathode leakage' }) });
    assert.match(await card.locator('.beside').innerText(), /would settle it[^]*insulation from plate to cathode cold[^]*plate–cathode leakage or zero offset/);
    await card.getByRole('button', { name: 'Write down what it shows' }).click();
    assert.equal(await page.evaluate(() => document.activeElement.id), 'own-seen-ohm');
    assert.deepEqual(await page.evaluate(() => ['a', 'b'].map((end) => document.getElementById(`own-seen-${end}`).value)), ['plate', 'cathode']);
    await page.keyboard.type('660 kohm');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => /odds 100 times up/.test(document.getElementById('findings').innerText));
    assert.doesNotMatch(await page.locator('#findings').innerText(), /would settle it/);
    const share = Number((await card.locator('.beside').innerText()).match(/→ (\d+)/)[1]);
    assert.ok(share > 95, `${share}`);
    assert.match(await page.locator('#own-standing').innerText(), /sweep’s alone|sweep's alone/);
    assert.match(await page.locator('#stamp').innerText(), /Retest/);
  });
});

describe('a store that fails', () => {
  onPage('full: it is said at once, the work goes on, and a copy has everything', {}, async (page, context) => {
    // Before the store is opened: the browser looks at the room only now and then.
    const session = await context.newCDPSession(page);
    const { origin } = new URL(at.base);
    // The page itself is kept for working offline, and takes room too.
    await page.waitForFunction(() => /Kept on this machine/.test(document.getElementById('offline').textContent));
    const { usage } = await session.send('Storage.getUsageAndQuota', { origin });
    await session.send('Storage.overrideQuotaForOrigin', { origin, quotaSize: usage + 300_000 });
    await begin(page);
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(page);
    const padding = Array.from({ length: 40_000 }, (_, i) => `# note: ${Math.imul(i + 1, 0x9e3779b1)}\n`).join('');
    await drop(page, [{ name: 'b.csv', text: padding + CLEAR(2) }]);
    await page.waitForSelector('#book-trouble:not([hidden])');
    assert.match(await page.locator('#book-trouble').innerText(), /full/);
    assert.match(await page.locator('#book-kept').innerText(), /Not kept/);
    await settled(page, 2);
    await note(page, 'all the same.');
    await accessible(page, 'store full');
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#book-trouble-save').click()]);
    const saved = JSON.parse(await readFile(await download.path(), 'utf8'));
    assert.match(JSON.stringify(saved.changes), /all the same\./);
    assert.equal(Object.keys(saved.files).length, 2);
    // With room again, all of it is kept with the next change.
    await session.send('Storage.overrideQuotaForOrigin', { origin });
    for (let i = 0; await page.locator('#book-trouble').isVisible(); i++) {
      assert.ok(i < 40, 'the browser finds no room');
      await page.waitForTimeout(1000);
      await note(page, `room ${i}?`);
      await page.waitForFunction(() => document.getElementById('book-kept').dataset.state !== 'keeping');
    }
    await kept(page);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 2);
    assert.match((await notes(page))[0], /^all the same/);
  });

  test('refused: it is said at once, and the work goes on in memory', async () => {
    const context = await at.browser.newContext({ viewport: { width: 1366, height: 768 } });
    await context.addInitScript(() => {
      Object.defineProperty(window, 'indexedDB', { get() { throw new DOMException('refused', 'SecurityError'); } });
    });
    const page = await context.newPage();
    const wrong = [];
    page.on('pageerror', (error) => wrong.push(error.message));
    await page.goto(at.base);
    await page.waitForSelector('body.ready');
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await decide(page, 'Reject', 'Cracked.');
    await page.waitForSelector('#book-trouble:not([hidden])');
    assert.match(await page.locator('#book-trouble').innerText(), /switched off/);
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'Reject');
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#book-trouble-save').click()]);
    assert.match(await readFile(await download.path(), 'utf8'), /Cracked\./);
    assert.deepEqual(wrong, []);
    await context.close();
  });

  onPage('cleared while the page is open: it is said at once, and a copy still has everything', {}, async (page, context) => {
    await begin(page);
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(page);
    const session = await context.newCDPSession(page);
    await session.send('Storage.clearDataForOrigin', { origin: new URL(at.base).origin, storageTypes: 'indexeddb' });
    await page.waitForSelector('#book-trouble:not([hidden])');
    assert.match(await page.locator('#book-trouble').innerText(), /cleared/);
    await note(page, 'after it.');
    const saved = JSON.parse(await copy(page));
    assert.match(JSON.stringify(saved.changes), /after it\./);
    assert.equal(Object.keys(saved.files).length, 1);
  });

  onPage('cleared before: the page tells that the notebook is gone', {}, async (page) => {
    await begin(page);
    await page.evaluate(() => new Promise((resolve) => {
      const open = indexedDB.open('sweepbook');
      open.onsuccess = () => {
        const tx = open.result.transaction('notebooks', 'readwrite');
        tx.objectStore('notebooks').clear();
        tx.oncomplete = resolve;
      };
    }));
    await page.reload();
    await page.waitForSelector('body.ready');
    await page.waitForSelector('#book-trouble:not([hidden])');
    assert.match(await page.locator('#book-trouble').innerText(), /gone[^]*Open a copy/);
  });
});

describe('by keyboard and by sight', () => {
  onPage('all of it is done by keyboard alone', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    await page.locator('#tube-title').focus();
    await pressUntil(page, 'Tab', '#own-summary');
    await page.keyboard.press('Enter');
    await pressUntil(page, 'Tab', '#own-choices input');
    await page.keyboard.press('Space');
    await page.keyboard.press('ArrowRight');
    await pressUntil(page, 'Tab', '#own-reason');
    await page.keyboard.type('Only for the spares box.');
    await pressUntil(page, 'Tab', '#own-decision .primary');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'Restrict');
    await pressUntil(page, 'Tab', '#own-note');
    await page.keyboard.type('A note.');
    await pressUntil(page, 'Tab', '#own-note-form button');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 1);
    await pressUntil(page, 'Tab', '#own-seen-what');
    await page.keyboard.press('i');
    await pressUntil(page, 'Tab', '#own-seen-ohm');
    await page.keyboard.type('many');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#own-seen-bad:not([hidden])');
    await page.keyboard.press('Control+a');
    await page.keyboard.type('1 MΩ');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => /Cold insulation plate–cathode 1\.00 MΩ/.test(document.getElementById('own-seen').innerText));
    await page.locator('#own-seen-a').selectOption('pin 4');
    await page.locator('#own-seen-ohm').fill('2 MΩ');
    await page.locator('#own-seen-form button').click();
    await page.waitForFunction(() => /Cold insulation pin 4–cathode 2\.00 MΩ/.test(document.getElementById('own-seen').innerText));
    await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelectorAll('#own-seen li').length === 1);
    await pressUntil(page, 'Shift+Tab', '#book-undo');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.querySelectorAll('#own-seen li').length === 0);
  });

  for (const colorScheme of ['light', 'dark']) {
    for (const viewport of [{ width: 1366, height: 768 }, { width: 390, height: 844 }, { width: 320, height: 640 }]) {
      onPage(`axe finds nothing and nothing is cut off, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        await drop(page, await fromDisk(LEAKY));
        await settled(page, 1);
        await begin(page, 'endless'.repeat(20));
        await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
        await decide(page, 'Accept', 'Cleaned the base.');
        await note(page, 'endless'.repeat(30));
        for (const state of ['own', 'dialog']) {
          if (state === 'dialog') await books(page);
          await accessible(page, state);
          assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth), state);
          if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/${state}-${viewport.width}-${colorScheme}.png` });
        }
      });
    }
  }
});
