// The notebook in the browser's store: nothing that was kept is lost.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { LEAKY, SOUND, drop, fromDisk, open, pressUntil, serious, setUp, settled } from './harness.mjs';

const at = setUp();
const { onPage } = at;
const here = (path) => fileURLToPath(new URL(path, import.meta.url));

const CLEAR = (tube) => `# tube: ${tube}\n# type: 6SN7GTB\nVa [V],Vg [V],Ia [mA]\n100,-3,0.1\n100,-2,0.9\n100,-1,2.1\n`;

/** Waits until everything is on the disk. */
const kept = (page) => page.waitForSelector('#book-kept[data-state=kept]');

async function books(page) {
  await page.locator('#books-open').click();
  await page.waitForSelector('#books[open]');
}

async function begin(page, name = 'Shed') {
  await books(page);
  await page.locator('#books-name').fill(name);
  await page.getByRole('button', { name: 'Begin it' }).click();
  await page.waitForSelector('#book:not([hidden])');
  await kept(page);
}

async function ownOpen(page) {
  if (!await page.evaluate(() => document.getElementById('own').open)) await page.locator('#own-summary').click();
}

async function decide(page, word, reason = '') {
  await ownOpen(page);
  await page.locator('#own-choices label', { hasText: word }).click();
  await page.locator('#own-reason').fill(reason);
  await page.getByRole('button', { name: 'Keep this decision' }).click();
}

async function note(page, text) {
  await ownOpen(page);
  await page.locator('#own-note').fill(text);
  await page.getByRole('button', { name: 'Add the note' }).click();
  await page.waitForFunction((t) => [...document.querySelectorAll('#own-notes li')].some((li) => li.innerText.includes(t)), text);
}

const notes = (page) => page.locator('#own-notes li > span:first-child').allTextContents();
const word = (page) => page.locator('#own-word').innerText();
const labels = (page) => page.locator('#tubes .tube-name').allInnerTexts();

/** Kills the renderer of a page as a crash would, and opens the page anew in the same profile. */
async function crashed(page, context, base) {
  const session = await context.newCDPSession(page);
  const gone = page.waitForEvent('crash');
  session.send('Page.crash').catch(() => {});
  await gone;
  const fresh = await context.newPage();
  await fresh.goto(base);
  await fresh.waitForSelector('body.ready');
  return fresh;
}

/** Saves a copy and reads it. */
async function copy(page) {
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#book [data-do=save-copy]').click()]);
  return readFile(await download.path(), 'utf8');
}

async function openCopy(page, name, text) {
  await page.locator('#books-file').setInputFiles({ name, mimeType: 'application/json', buffer: Buffer.from(text) });
}

describe('the notebook', () => {
  test('its store is opened by the library as it was published', async () => {
    assert.equal(await readFile(here('../../web/vendor/idb/index.js'), 'utf8'), await readFile(here('node_modules/idb/build/index.js'), 'utf8'));
    assert.equal(await readFile(here('../../web/vendor/idb/LICENSE'), 'utf8'), await readFile(here('node_modules/idb/LICENSE'), 'utf8'));
    const { version } = JSON.parse(await readFile(here('node_modules/idb/package.json'), 'utf8'));
    assert.ok((await readFile(here('../../web/vendor/idb/README'), 'utf8')).includes(`idb ${version},`));
  });

  onPage('without one nothing is kept, as before', {}, async (page) => {
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    assert.ok(await page.locator('#book').isHidden());
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 0);
    assert.ok(await page.locator('#empty').isVisible());
  });

  onPage('takes in what is on the page, and all of it is there after a reload', {}, async (page) => {
    await drop(page, await fromDisk(SOUND, LEAKY));
    await settled(page, 2);
    await begin(page);
    await drop(page, [{ name: 'c.csv', text: CLEAR('B-17') }]);
    await settled(page, 3);
    await page.locator('#tubes [role=option]', { hasText: 'Restrict' }).click();
    const opinion = await page.locator('#own-said').innerText();
    await decide(page, 'Restrict');
    await note(page, 'Bent pin.\nStraightened.');
    await kept(page);
    const before = await labels(page);
    const reports = await page.locator('#reasons').innerText();
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 3);
    assert.deepEqual(await labels(page), before);
    await page.locator('#tubes [role=option]', { hasText: 'You: Restrict' }).click();
    assert.equal(await page.locator('#reasons').innerText(), reports, 'judged again to the same');
    assert.equal(await word(page), 'Restrict');
    assert.equal(await page.locator('#own-said').innerText(), opinion);
    assert.match((await notes(page))[0], /Bent pin\.\s+Straightened\./);
  });

  onPage('a decision against the sweep asks for a reason, and begins a notebook by itself', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    await decide(page, 'Accept');
    await page.waitForSelector('#own-bad:not([hidden])');
    assert.match(await page.locator('#own-bad').innerText(), /no reason/);
    assert.equal(await page.evaluate(() => document.activeElement.id), 'own-reason');
    assert.match(await page.locator('#own-why').innerText(), /otherwise/);
    await decide(page, 'Accept', 'The base was dirty; cleaned, it leaks no more.');
    await kept(page);
    assert.equal(await word(page), 'Accept');
    assert.ok(await page.locator('#book').isVisible());
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    assert.equal(await word(page), 'Accept');
    assert.match(await page.locator('#own-reason').inputValue(), /dirty/);
    assert.match(await page.locator('#stamp').innerText(), /Restrict/, 'the sweep’s opinion stays beside it');
    await ownOpen(page);
    await page.locator('#own-take-back').click();
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'none yet');
  });

  onPage('a file is kept with the answer by which it was read', {}, async (page) => {
    const rows = (va) => [-4, -3, -2, -1, 0].map((vg, i) => `${va};${vg};${(va / 50) + i},${123 + 111 * i}\n`).join('');
    await begin(page);
    await drop(page, [{ name: 'b.csv', text: `Va [V];Vg [V];Ia [uA]\n${rows(100)}${rows(150)}${rows(200)}` }]);
    await page.waitForSelector('.candidate');
    await page.locator('.candidate').nth(1).click();
    await page.locator('#questions .primary').click();
    await settled(page, 1);
    await kept(page);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    assert.match(await page.locator('#said').innerText(), /as kept in the notebook \(decimal=point\)/);
    assert.ok(await page.locator('#questions').isHidden());
  });

  onPage('undo goes back over more than fifty steps and forth again, by buttons and by keys', {}, async (page) => {
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await begin(page);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await ownOpen(page);
    for (let i = 0; i < 52; i++) await note(page, `note ${i}.`);
    await kept(page);
    await page.locator('#tube-title').focus();
    for (let i = 0; i < 30; i++) await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 22);
    for (let i = 0; i < 22; i++) await page.locator('#book-undo').click();
    await page.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 0);
    // One more takes back that the file was taken in.
    await page.locator('#book-undo').click();
    await settled(page, 0);
    await page.locator('#book-redo').click();
    await settled(page, 1);
    await page.locator('#book-name').focus();
    for (let i = 0; i < 52; i++) await page.keyboard.press('Control+Shift+z');
    await page.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 52);
    await kept(page);
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    assert.equal((await notes(page)).length, 52);
    // Undo goes on after a reload; in a field the keys are the field's.
    await page.locator('#tube-title').focus();
    await page.keyboard.press('Control+z');
    await page.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 51);
    await ownOpen(page);
    await page.locator('#own-note').focus();
    await page.keyboard.type('x');
    await page.keyboard.press('Control+z');
    assert.equal((await notes(page)).length, 51);
  });
});

describe('a crash', () => {
  test('loses nothing that was kept, whenever it comes', async () => {
    const { page, context } = await open(at.browser, at.base, { allow: [/./] });
    let now = page;
    // While files are on their way: what is said to be kept is.
    await begin(now);
    await drop(now, Array.from({ length: 12 }, (_, i) => ({ name: `${i}.csv`, text: CLEAR(`T-${String(i).padStart(2, '0')}`) })));
    await now.waitForFunction(() => document.querySelectorAll('#tubes [role=option]').length >= 3);
    await kept(now);
    const before = (await labels(now)).length;
    now = await crashed(now, context, at.base);
    await now.waitForFunction(() => document.getElementById('progress').hidden);
    const after = (await labels(now)).length;
    assert.ok(after >= Math.min(3, before - 1), `${after} of ${before}`);
    // Right after a decision was kept.
    await now.waitForFunction(() => document.querySelectorAll('#tubes [role=option]').length > 0);
    await decide(now, 'Reject', 'Cracked.');
    await now.waitForFunction(() => document.getElementById('own-word').innerText === 'Reject');
    await kept(now);
    now = await crashed(now, context, at.base);
    await settled(now, after);
    assert.equal(await word(now), 'Reject');
    // After a note was taken back.
    await note(now, 'one.');
    await note(now, 'two.');
    await now.locator('#book-undo').click();
    await kept(now);
    now = await crashed(now, context, at.base);
    await settled(now, after);
    assert.deepEqual((await notes(now)).map((text) => text.slice(0, 4)), ['one.']);
    // In the middle of writing many: each is there or not, from the first on.
    await ownOpen(now);
    for (let i = 0; i < 5; i++) await note(now, `quick ${i}.`);
    await kept(now);
    now.evaluate(() => {
      for (let i = 5; i < 40; i++) {
        document.getElementById('own-note').value = `quick ${i}.`;
        document.getElementById('own-note-form').requestSubmit();
      }
    }).catch(() => {});
    now = await crashed(now, context, at.base);
    await settled(now, after);
    const left = (await notes(now)).filter((text) => text.startsWith('quick')).map((text) => Number(text.match(/quick (\d+)/)[1]));
    assert.ok(left.length >= 5);
    assert.deepEqual(left, left.map((_, i) => i));
    await context.close();
  });
});

describe('two tabs', () => {
  onPage('see what the other does, and neither overwrites it', {}, async (page, context) => {
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await begin(page);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(page);
    const other = await context.newPage();
    await other.goto(at.base);
    await other.waitForSelector('body.ready');
    await settled(other, 1);
    await note(page, 'from here.');
    await note(other, 'from there.');
    for (const tab of [page, other]) {
      await tab.waitForFunction(() => document.querySelectorAll('#own-notes li').length === 2);
    }
    // A file that one opens the other reads too.
    await drop(other, [{ name: 'b.csv', text: CLEAR(2) }]);
    await settled(other, 2);
    await settled(page, 2);
    // Each takes back its own.
    await page.locator('#book-undo').click();
    for (const tab of [page, other]) {
      await tab.waitForFunction(() => {
        const all = [...document.querySelectorAll('#own-notes li')].map((li) => li.innerText);
        return all.length === 1 && all[0].startsWith('from there');
      });
    }
    await kept(page);
    await kept(other);
    await other.close();
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 2);
    assert.match((await notes(page))[0], /^from there/);
  });
});

describe('copies', () => {
  onPage('a copy carries everything into another browser, and merging loses nothing', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    await begin(page, 'Lot of May');
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await decide(page, 'Reject', 'Leaks.');
    await kept(page);
    const first = await copy(page);
    await note(page, 'after the copy.');
    const { page: there, context, wrong } = await open(at.browser, at.base);
    await openCopy(there, 'lot.json', first);
    await settled(there, 1);
    assert.equal(await word(there), 'Reject');
    await note(there, 'in the other place.');
    await kept(there);
    const second = await copy(there);
    assert.equal(JSON.parse(second).schema, 'sweepbook/notebook/2');
    assert.equal(Object.keys(JSON.parse(second).files).length, 1);
    for (let twice = 0; twice < 2; twice++) {
      await openCopy(page, 'back.json', second);
      await page.waitForFunction((n) => document.getElementById('spoken').textContent.includes(n), twice ? '0 changes taken in' : '1 change taken in');
    }
    assert.deepEqual((await notes(page)).map((text) => text.split('.')[0]).sort(), ['after the copy', 'in the other place']);
    assert.equal((await labels(page)).length, 1);
    assert.deepEqual(wrong, []);
    await context.close();
  });

  onPage('the simple form that a script writes is taken in, once', {}, async (page) => {
    const simple = JSON.stringify({
      schema: 'sweepbook/notebook/1', name: 'Shed', lots: [{ name: 'Lot 1' }], tubes: [{ lot: 'Lot 1', label: 'B-17', type: '6SN7GTB' }],
      notes: [{ tube: 'B-17', text: 'Bent pin.' }], decisions: [{ tube: 'B-17', decision: 'restrict', reason: 'Only where it is quiet.' }],
    });
    await openCopy(page, 'shed.json', simple);
    await page.waitForSelector('#book:not([hidden])');
    assert.equal(await page.locator('#book-name').innerText(), 'Shed');
    // The sweep of the tube that it names joins what is written of it.
    await drop(page, [{ name: 'b.csv', text: CLEAR('B-17') }]);
    await settled(page, 1);
    await page.waitForFunction(() => document.getElementById('own-word').innerText === 'Restrict');
    assert.match((await notes(page))[0], /^Bent pin/);
    await openCopy(page, 'shed.json', simple);
    await page.waitForFunction(() => document.getElementById('spoken').textContent.includes('0 changes taken in'));
    await books(page);
    assert.equal(await page.locator('#books-list li').count(), 1);
  });

  onPage('what is no notebook is refused with its place', {}, async (page) => {
    await openCopy(page, 'bad.json', '{"schema":"sweepbook/notebook/2",\n"notebook":"shed",\n"changes":[{"device":7}]}');
    await page.waitForSelector('#books-bad:not([hidden])');
    assert.match(await page.locator('#books-bad').innerText(), /bad\.json, line 3/);
    await openCopy(page, 'newer.json', '{"schema":"sweepbook/notebook/3"}');
    await page.waitForFunction(() => /later version/.test(document.getElementById('books-bad').innerText));
    assert.ok(await page.locator('#book').isHidden());
  });

  onPage('several notebooks stand beside each other', {}, async (page) => {
    await begin(page, 'First');
    await drop(page, [{ name: 'a.csv', text: CLEAR(1) }]);
    await settled(page, 1);
    await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(page);
    await begin(page, 'Second');
    await settled(page, 0);
    await drop(page, [{ name: 'b.csv', text: CLEAR(2) }, { name: 'c.csv', text: CLEAR(3) }]);
    await settled(page, 2);
    await kept(page);
    await books(page);
    await page.locator('#books-new-name').fill('Second, renamed');
    await page.getByRole('button', { name: 'Rename it' }).click();
    await kept(page);
    await books(page);
    assert.match(await page.locator('#books-list').innerText(), /Second, renamed[^]*First/);
    await page.getByRole('button', { name: 'Open First' }).click();
    await settled(page, 1);
    assert.equal(await page.locator('#book-name').innerText(), 'First');
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
  });
});

/** A picture of one colour, as PNG, made by the browser. */
const picture = (page, width, height) => page.evaluate(async ([w, h]) => {
  const canvas = Object.assign(document.createElement('canvas'), { width: w, height: h });
  canvas.getContext('2d').fillRect(0, 0, w, h);
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, 'image/png'); });
  return [...new Uint8Array(await blob.arrayBuffer())];
}, [width, height]).then((bytes) => Buffer.from(bytes));

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
    await serious(page, 'photos');
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
    await serious(page, 'lots');
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
    await serious(page, 'weighed');
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
    await serious(page, 'store full');
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
      onPage(`axe finds nothing serious and nothing is cut off, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        await drop(page, await fromDisk(LEAKY));
        await settled(page, 1);
        await begin(page, 'endless'.repeat(20));
        await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
        await decide(page, 'Accept', 'Cleaned the base.');
        await note(page, 'endless'.repeat(30));
        for (const state of ['own', 'dialog']) {
          if (state === 'dialog') await books(page);
          await serious(page, state);
          assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth), state);
          if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/${state}-${viewport.width}-${colorScheme}.png` });
        }
      });
    }
  }
});
