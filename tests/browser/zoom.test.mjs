// The page enlarged: to 200 % on a small laptop (WCAG 2.2, 1.4.4), and to 400 %, which leaves
// 320 pixels across (1.4.10). Nothing is cut, nothing scrolls sideways, every control is reached.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { LEAKY, accessible, drop, fromDisk, setUp, settled } from './harness.mjs';
import { begin, books, decide, kept, note } from './notebook.mjs';

const at = setUp();
const { onPage } = at;

// Without motion, so that a scroll is over at once.
const SIZES = [
  ['200 %', { viewport: { width: 683, height: 384 }, deviceScaleFactor: 2, reducedMotion: 'reduce' }],
  ['320 pixels across', { viewport: { width: 320, height: 640 }, reducedMotion: 'reduce' }],
];
/** Longer than any walk over the page needs to be. */
const MOST_STEPS = 300;

/** What is cut off or beyond the edge, in what is open now. */
const cut = (page) => page.evaluate(() => {
  const wrong = [];
  const name = (e) => `${e.tagName.toLowerCase()}${e.id ? `#${e.id}` : ''}${e.className?.baseVal ?? (e.className ? `.${e.className}` : '')}: ${e.textContent.trim().slice(0, 40)}`;
  const open = [...document.querySelectorAll('dialog[open]')].at(-1) ?? document.body;
  const page = document.scrollingElement;
  if (page.scrollWidth > innerWidth) wrong.push(`the page scrolls sideways by ${page.scrollWidth - innerWidth}`);
  for (const e of open.querySelectorAll('*')) {
    if (!e.checkVisibility() || e.closest('svg, .unseen, .skip, canvas')) continue;
    const style = getComputedStyle(e);
    // What may be moved in a frame of its own is not cut.
    const framed = (of) => { for (let up = of; up && up !== open; up = up.parentElement) if (['auto', 'scroll'].includes(getComputedStyle(up).overflowX)) return true; return false; };
    const box = e.getBoundingClientRect();
    if (box.width && !framed(e.parentElement) && (box.left < -1 || box.right > innerWidth + 1)) wrong.push(`beyond the edge: ${name(e)}`);
    const wide = e.scrollWidth > e.clientWidth + 1 && ['hidden', 'clip'].includes(style.overflowX);
    const high = e.scrollHeight > e.clientHeight + 1 && ['hidden', 'clip'].includes(style.overflowY);
    if (e.clientWidth && (wide || high) && e.textContent.trim()) wrong.push(`cut: ${name(e)}`);
    // A frame that scrolls is of use only where it leaves room to look through.
    if (['auto', 'scroll'].includes(style.overflowY) && e.scrollHeight > e.clientHeight + 1 && e.clientHeight < 60) wrong.push(`a slit: ${name(e)}`);
  }
  if (open.matches('dialog')) {
    const box = open.getBoundingClientRect();
    if (box.left < 0 || box.right > innerWidth || box.top < 0 || box.bottom > innerHeight) wrong.push('the dialog is beyond the edge');
  }
  return wrong;
});

/** Walks by Tab over all controls of what is open: those that are never reached, and those that are not seen when they are. */
async function unreached(page) {
  await page.evaluate(() => {
    document.activeElement.blur();
    const open = [...document.querySelectorAll('dialog[open]')].at(-1) ?? document.body;
    const groups = new Set();
    const wanted = [...open.querySelectorAll('button, a[href], select, input, textarea, summary, [tabindex="0"]')]
      .filter((e) => e.checkVisibility() && !e.disabled && e.tabIndex >= 0 && !e.closest('.skip'))
      // Of radio buttons the arrows choose.
      .filter((e) => e.type !== 'radio' || (!groups.has(e.name) && groups.add(e.name)));
    globalThis.wanted = new Set(wanted);
    globalThis.seen = new Set();
    globalThis.hidden = [];
    globalThis.last = null;
    open.scrollTop = 0;
    scrollTo(0, 0);
  });
  for (let step = 0; step < MOST_STEPS; step++) {
    await page.keyboard.press('Tab');
    const more = await page.evaluate(() => {
      const e = document.activeElement;
      if (e === document.body || e.matches('.skip')) return true;
      // A date has several parts, each a step.
      if (e === globalThis.last) return true;
      globalThis.last = e;
      if (globalThis.seen.has(e)) return false;
      globalThis.seen.add(e);
      const own = e.type === 'radio' ? [...globalThis.wanted].find((one) => one.type === 'radio' && one.name === e.name) : e;
      globalThis.wanted.delete(own);
      // Of it, or of its label, a spot of 24 pixels is on the screen and nothing lies over it.
      const { left, right, top, bottom } = e.getBoundingClientRect();
      const [x, y] = [(Math.max(left, 0) + Math.min(right, innerWidth)) / 2, (Math.max(top, 0) + Math.min(bottom, innerHeight)) / 2];
      const [width, height] = [Math.min(right, innerWidth) - Math.max(left, 0), Math.min(bottom, innerHeight) - Math.max(top, 0)];
      const there = document.elementFromPoint(x, y);
      const mine = there && (e.contains(there) || there.closest('label')?.contains(e));
      if (width < 16 || height < 16 || !mine) globalThis.hidden.push(`${e.outerHTML.slice(0, 90)}: ${Math.round(width)}×${Math.round(height)}${mine ? '' : `, under ${there?.outerHTML.slice(0, 60)}`}`);
      return true;
    });
    if (!more) break;
  }
  return page.evaluate(() => [...globalThis.hidden, ...[...globalThis.wanted].map((e) => `never reached: ${e.outerHTML.slice(0, 90)}`)]);
}

async function fits(page, state) {
  if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/zoom-${state.replaceAll(' ', '-')}-${page.viewportSize().width}.png` });
  assert.deepEqual(await cut(page), [], `${state}: cut`);
  assert.deepEqual(await unreached(page), [], `${state}: controls`);
  await accessible(page, state);
}

describe('enlarged, nothing is cut and every control is reached', () => {
  for (const [size, options] of SIZES) {
    onPage(`the empty page and what it opens, ${size}`, options, async (page) => {
      await fits(page, 'empty');
      await page.locator('.masthead [data-do=paste]').click();
      await fits(page, 'paste');
      await page.locator('#paste-cancel').click();
      await books(page);
      await fits(page, 'no notebook');
    });

    onPage(`the lot and its sheet, ${size}`, options, async (page) => {
      await drop(page, [...await fromDisk(LEAKY), { name: 'bad.csv', text: 'x' }]);
      await settled(page, 1);
      await fits(page, 'lot');
      await begin(page, 'The tubes out of the shed of my late uncle');
      await decide(page, 'Accept', 'Cleaned the base.');
      await note(page, 'Bent pin.');
      await kept(page);
      for (const details of await page.locator('details:visible').all()) await details.evaluate((one) => { one.open = true; });
      await page.locator('#plot').focus();
      await page.keyboard.press('ArrowRight');
      await fits(page, 'sheet');
    });

    onPage(`the dialogs of a lot, ${size}`, options, async (page) => {
      await begin(page, 'The notebook of the year before');
      await begin(page, 'Shed');
      await page.locator('[data-do=samples]').click();
      await page.waitForFunction(() => document.querySelectorAll('#tubes [role=option]').length > 5 && document.getElementById('progress').hidden);
      await kept(page);
      await books(page);
      await fits(page, 'notebooks');
      await page.getByRole('button', { name: 'Delete The notebook' }).click();
      await page.waitForSelector('#forget[open]');
      await fits(page, 'forget');
      await page.locator('#forget-cancel').click();
      await page.locator('#books-done').click();
      await page.locator('#lots-open').click();
      await fits(page, 'lots');
      await page.locator('#lots-done').click();
      await page.locator('#match-open').click();
      await page.locator('#match-restricted').check();
      await page.locator('#match-go').click();
      await page.waitForSelector('.match-groups > li, #match-bad:not([hidden])');
      await fits(page, 'match');
      await page.locator('#match-done').click();
      await page.locator('#paper-open').click();
      await fits(page, 'report');
      await page.locator('#paper-cancel').click();
      await page.locator('#bench-edit').click();
      await fits(page, 'benches');
      await page.locator('#bench-done').click();
      await page.locator('#by-hand').click();
      await page.waitForSelector('#map[open]');
      await fits(page, 'columns by hand');
    });

    onPage(`the lot as a table and what it opens, ${size}`, options, async (page) => {
      await page.locator('[data-do=samples]').click();
      await page.waitForFunction(() => document.querySelectorAll('#tubes [role=option]').length > 5 && document.getElementById('progress').hidden);
      await page.locator('#view label', { hasText: 'Table' }).click();
      await page.waitForSelector('#table-rows [role=row]');
      await page.locator('#table').focus();
      for (const key of ['Home', 'Space', 'Shift+ArrowDown']) await page.keyboard.press(key);
      await fits(page, 'table');
      await page.locator('#compare-open').click();
      await page.waitForSelector('#compare[open] svg');
      await fits(page, 'compare');
      await page.locator('#compare-done').click();
      await page.locator('#many-open').click();
      await fits(page, 'decide on several');
    });
  }
});
