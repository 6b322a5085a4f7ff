// Notebooks deleted: what goes is named, a copy is offered, and nothing else is touched.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe } from 'node:test';
import { accessible, drop, pressUntil, setUp, settled } from './harness.mjs';
import { CLEAR, begin, books, decide, kept, note, notes, openCopy, ownOpen, picture, word } from './notebook.mjs';

const at = setUp();
const { onPage } = at;

/** A notebook with a file, and one that shares the file with it. */
async function two(page) {
  await begin(page, 'First');
  await drop(page, [{ name: 'both.csv', text: CLEAR('B-17') }, { name: 'own.csv', text: CLEAR('B-18') }]);
  await settled(page, 2);
  await page.waitForFunction(() => document.querySelectorAll('#own-notes').length && !document.getElementById('book-undo').disabled);
  await decide(page, 'Reject', 'Cracked.');
  await note(page, 'Bent pin.');
  await page.locator('#own-photo-file').setInputFiles([{ name: 'p.png', mimeType: 'image/png', buffer: await picture(page, 40, 30) }]);
  await page.waitForSelector('#own-photos img');
  await kept(page);
  // What was found of the files is kept a little later.
  for (let tries = 0; tries < 100 && (await stored(page)).answers < 2; tries++) await page.waitForTimeout(50);
  await begin(page, 'Second');
  await settled(page, 0);
  await drop(page, [{ name: 'both.csv', text: CLEAR('B-17') }]);
  await settled(page, 1);
  await page.waitForFunction(() => !document.getElementById('book-undo').disabled);
  await kept(page);
}

/** What is in the store. */
const stored = (page) => page.evaluate(() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('sweepbook');
  opening.onerror = reject;
  opening.onsuccess = () => {
    const tx = opening.result.transaction(['notebooks', 'changes', 'files', 'answers']);
    const asked = ['notebooks', 'changes', 'files', 'answers'].map((name) => tx.objectStore(name).getAllKeys());
    tx.oncomplete = () => {
      opening.result.close();
      const [notebooks, changes, files, answers] = asked.map(({ result }) => result);
      resolve({ notebooks: notebooks.length, of: new Set(changes.map(([id]) => id)).size, files: files.length, answers: answers.length });
    };
  };
}));

const names = (page) => page.locator('#books-list b').allInnerTexts();
const ask = async (page, name) => {
  if (!await page.evaluate(() => document.getElementById('books').open)) await books(page);
  await page.getByRole('button', { name: `Delete ${name}` }).click();
  await page.waitForSelector('#forget[open]');
};

describe('a notebook is deleted', () => {
  onPage('with what it holds named and a copy offered, and the other keeps its files', {}, async (page) => {
    await two(page);
    assert.deepEqual(await stored(page), { notebooks: 2, of: 2, files: 3, answers: 2 });
    await ask(page, 'First');
    assert.match(await page.locator('#forget-title').innerText(), /“First”/);
    assert.match(await page.locator('#forget-what').innerText(), /2 files, .*2 tubes, 1 decision, 1 note and 1 photo\./);
    await accessible(page, 'asked');
    // Whoever does not say so deletes nothing.
    await page.keyboard.press('Escape');
    await page.waitForFunction(() => document.activeElement.id === 'books-title');
    assert.equal((await names(page)).length, 2);
    await ask(page, 'First');
    const [saved] = await Promise.all([page.waitForEvent('download'), page.locator('#forget-copy').click()]);
    await page.waitForSelector('#forget-says:not([hidden])');
    const copy = await readFile(await saved.path(), 'utf8');
    await page.locator('#forget-do').click();
    await page.waitForFunction(() => !document.getElementById('forget').open && document.querySelectorAll('#books-list li').length === 1);
    assert.deepEqual(await names(page), ['Second']);
    // The file that the other one has too is still there, the other file, the photo and what was found are not.
    assert.deepEqual(await stored(page), { notebooks: 1, of: 1, files: 1, answers: 1 });
    await page.reload();
    await page.waitForSelector('body.ready');
    await settled(page, 1);
    assert.equal(await page.locator('#book-name').innerText(), 'Second');
    // The copy brings it back whole.
    await openCopy(page, 'first.json', copy);
    await settled(page, 2);
    await page.locator('#tubes [role=option]', { hasText: 'B-17' }).click();
    const decided = await word(page);
    if (decided !== 'Reject') await page.locator('#tubes [role=option]', { hasText: 'B-18' }).click();
    assert.equal(await word(page), 'Reject');
    assert.match((await notes(page))[0], /^Bent pin/);
    await ownOpen(page);
    await page.waitForFunction(() => document.querySelector('#own-photos img')?.naturalWidth === 40);
  });

  onPage('by keyboard', {}, async (page) => {
    await two(page);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#books-open');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#books[open]');
    await pressUntil(page, 'Tab', '[aria-label="Delete First"]');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#forget[open]');
    await pressUntil(page, 'Tab', '#forget-do');
    await page.keyboard.press('Enter');
    await page.waitForFunction(() => document.activeElement.id === 'books-title' && document.querySelectorAll('#books-list li').length === 1);
    assert.match(await page.locator('#books-list').innerText(), /Second/);
  });

  onPage('only where no tab has it open', {}, async (page, context) => {
    await two(page);
    const other = await context.newPage();
    await other.goto(at.base);
    await other.waitForSelector('body.ready');
    await settled(other, 1);
    await begin(other, 'Third');
    // It is not offered for the one that is open here, and refused for the one that is open there.
    await books(page);
    assert.equal(await page.getByRole('button', { name: 'Delete Second' }).count(), 0);
    await ask(page, 'Third');
    assert.match(await page.locator('#forget-what').innerText(), /empty/);
    await page.locator('#forget-do').click();
    await page.waitForSelector('#forget-bad:not([hidden])');
    assert.match(await page.locator('#forget-bad').innerText(), /open in another tab/);
    assert.equal((await stored(page)).notebooks, 3);
    // Closed there, it goes; and there it is said that it is gone.
    await books(other);
    await other.locator('#books-close').click();
    await books(other);
    await page.locator('#forget-do').click();
    await page.waitForFunction(() => !document.getElementById('forget').open);
    assert.equal((await stored(page)).notebooks, 2);
    await other.getByRole('button', { name: 'Open Third' }).click();
    await other.waitForSelector('#book-trouble:not([hidden])');
    assert.match(await other.locator('#book-trouble').innerText(), /gone: it was deleted in another tab/);
    assert.equal((await stored(other)).notebooks, 2);
    await other.close();
  });
});
