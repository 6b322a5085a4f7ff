// The notebook in the browser's store: nothing that was kept is lost.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { LEAKY, SOUND, drop, fromDisk, open, setUp, settled } from './harness.mjs';
import { begin, books, CLEAR, copy, crashed, decide, kept, labels, note, notes, openCopy, ownOpen, word } from './notebook.mjs';

const at = setUp();
const { onPage } = at;
const here = (path) => fileURLToPath(new URL(path, import.meta.url));

/** Waits until the browser keeps the findings of so many files. */
async function answers(page, wanted) {
  const kept = () => page.evaluate(() => new Promise((resolve) => {
    const opening = indexedDB.open('sweepbook');
    opening.onsuccess = () => {
      const db = opening.result;
      const asked = db.transaction('answers').objectStore('answers').count();
      asked.onsuccess = () => { db.close(); resolve(asked.result); };
    };
  }));
  for (let i = 0; i < 200 && await kept() !== wanted; i++) await page.waitForTimeout(50);
  assert.equal(await kept(), wanted);
}

/** From now on the program stops on every file that it is to judge. */
async function judgingStops(context) {
  // Each worker that stopped is followed by another one, the last of them after the test's end.
  let text;
  await context.route('**/worker.js', async (route) => {
    if (!text) {
      const worker = await (await route.fetch()).text();
      text = `${worker.replace(/read\(name, ?bytes, ?how\)/, 'stop()')}\nfunction stop() { throw new WebAssembly.RuntimeError('TRAP FOR THE TEST'); }`;
    }
    await route.fulfill({ contentType: 'text/javascript', body: text }).catch(() => {});
  });
}

describe('the notebook', () => {
  const allow = [/Service Worker registration blocked by Playwright/];
  onPage('opens with what was found before, and judges nothing anew', { allow, serviceWorkers: 'block' }, async (page, context) => {
    await begin(page);
    await drop(page, [{ name: 'a.csv', text: CLEAR('A') }, { name: 'b.csv', text: CLEAR('B') }]);
    await settled(page, 2);
    await answers(page, 2);
    await page.reload();
    await settled(page, 2);
    // Another sweep of a tube that was taken over: both are judged together, and kept so.
    await drop(page, [{ name: 'a2.csv', text: `${CLEAR('A')}100,0,3.7\n` }]);
    await settled(page, 3);
    await answers(page, 3);
    const reasons = await page.locator('#reasons').innerText();
    await judgingStops(context);
    await page.reload();
    await settled(page, 3);
    assert.deepEqual((await labels(page)).sort(), ['A', 'A', 'B']);
    assert.equal(await page.locator('#reasons').innerText(), reasons);
    // The worker has them: a report can be made of them.
    await page.click('#paper-open');
    await page.check('#paper-which [value=all]');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.click('#paper-write')]);
    assert.equal((await readFile(await saved.path(), 'utf8')).match(/Tube [AB]/g).length >= 3, true);
    // What is forgotten is judged anew, which is stopped here.
    await page.evaluate(() => new Promise((resolve) => {
      const opening = indexedDB.open('sweepbook');
      opening.onsuccess = () => {
        const tx = opening.result.transaction('answers', 'readwrite');
        tx.objectStore('answers').clear();
        tx.oncomplete = () => { opening.result.close(); resolve(); };
      };
    }));
    await page.reload();
    await page.waitForFunction(() => document.querySelectorAll('#unread-list li').length === 3);
  });

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
