// What the tests of the notebook share.
import { readFile } from 'node:fs/promises';

export const CLEAR = (tube) => `# tube: ${tube}\n# type: 6SN7GTB\nVa [V],Vg [V],Ia [mA]\n100,-3,0.1\n100,-2,0.9\n100,-1,2.1\n`;

/** Waits until everything is on the disk. */
export const kept = (page) => page.waitForSelector('#book-kept[data-state=kept]');

export async function books(page) {
  await page.locator('#books-open').click();
  await page.waitForSelector('#books[open]');
}

export async function begin(page, name = 'Shed') {
  await books(page);
  await page.locator('#books-name').fill(name);
  await page.getByRole('button', { name: 'Begin it' }).click();
  await page.waitForSelector('#book:not([hidden])');
  await kept(page);
}

export async function ownOpen(page) {
  if (!await page.evaluate(() => document.getElementById('own').open)) await page.locator('#own-summary').click();
}

export async function decide(page, word, reason = '') {
  await ownOpen(page);
  await page.locator('#own-choices label', { hasText: word }).click();
  await page.locator('#own-reason').fill(reason);
  await page.getByRole('button', { name: 'Keep this decision' }).click();
}

export async function note(page, text) {
  await ownOpen(page);
  await page.locator('#own-note').fill(text);
  await page.getByRole('button', { name: 'Add the note' }).click();
  await page.waitForFunction((t) => [...document.querySelectorAll('#own-notes li')].some((li) => li.innerText.includes(t)), text);
}

export const notes = (page) => page.locator('#own-notes li > span:first-child').allTextContents();
export const word = (page) => page.locator('#own-word').innerText();
export const labels = (page) => page.locator('#tubes .tube-name').allInnerTexts();

/** Kills the renderer of a page as a crash would, and opens the page anew in the same profile. */
export async function crashed(page, context, base) {
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
export async function copy(page) {
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#book [data-do=save-copy]').click()]);
  return readFile(await download.path(), 'utf8');
}

export async function openCopy(page, name, text) {
  await page.locator('#books-file').setInputFiles({ name, mimeType: 'application/json', buffer: Buffer.from(text) });
}

/** A picture of one colour, as PNG, made by the browser. */
export const picture = (page, width, height) => page.evaluate(async ([w, h]) => {
  const canvas = Object.assign(document.createElement('canvas'), { width: w, height: h });
  canvas.getContext('2d').fillRect(0, 0, w, h);
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, 'image/png'); });
  return [...new Uint8Array(await blob.arrayBuffer())];
}, [width, height]).then((bytes) => Buffer.from(bytes));
