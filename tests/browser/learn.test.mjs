// The page of lessons: the bench, the course, and an exercise from start to score by the keyboard alone.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { accessible, pressUntil, setUp } from './harness.mjs';
import { begin } from './notebook.mjs';
import { pages } from './printed.mjs';

const { onPage } = setUp();

/** Waits until what is found is told of what was last set. */
const told = (page, id) => page.waitForFunction((of) => {
  const box = document.getElementById(of);
  return box.children.length > 0 && !box.classList.contains('stale');
}, id);
/** What is on a canvas, as one text. */
const ink = (page, id) => page.evaluate((of) => document.getElementById(of).toDataURL(), id);

describe('the lessons', () => {
  onPage('do an exercise from start to score by keyboard', { path: 'learn.html#exercise?number=4&level=1' }, async (page) => {
    await page.evaluate(() => {
      globalThis.pointed = 0;
      addEventListener('pointerdown', () => { globalThis.pointed += 1; }, true);
    });
    assert.match(await page.locator('#exercise-title').innerText(), /Exercise 4, level 1/);
    const before = await ink(page, 'exercise-curves');
    // The right answer is the program's to tell.
    const wanted = await page.evaluate(async () => {
      const { need } = await import(document.querySelector('script[type=module]').src.replace('learn/start.js', 'joined.js'));
      const program = await need('src/learn/program.js');
      const { fault, section } = program.marked(4, 0, { fault: 'swapped-columns', section: null, next: 'nothing' });
      return { fault: fault ?? '', section: section ? String(section) : '' };
    });
    const choose = async (id, value) => {
      await pressUntil(page, 'Tab', `#${id}`);
      await page.keyboard.press('Home');
      for (let i = 0; i < 40 && await page.locator(`#${id}`).inputValue() !== value; i++) await page.keyboard.press('ArrowDown');
      assert.equal(await page.locator(`#${id}`).inputValue(), value);
    };
    await choose('exercise-fault', wanted.fault);
    await choose('exercise-section', wanted.section);
    await choose('exercise-next', 'repeat');
    await pressUntil(page, 'Tab', '#exercise-go');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#exercise-marked .score');
    assert.match(await page.locator('#exercise-marked .score').innerText(), /^[45] of 5$/);
    assert.equal(await page.locator('#exercise-go').isDisabled(), true);
    await told(page, 'exercise-told');
    await accessible(page, 'an exercise that was marked');
    // What was asked for is measured.
    await pressUntil(page, 'Tab', '#exercise-measure');
    await page.keyboard.press('Enter');
    await page.waitForTimeout(50);
    await told(page, 'exercise-told');
    assert.notEqual(await ink(page, 'exercise-curves'), before);
    assert.match(await page.locator('#exercise-results').innerText(), /1 exercise so far/);
    // Another one, and the first is remembered.
    await pressUntil(page, 'Tab', '#exercise-another');
    await page.keyboard.press('Enter');
    assert.match(await page.locator('#exercise-title').innerText(), /Exercise 5/);
    assert.equal(await page.evaluate(() => globalThis.pointed), 0);
    await page.reload();
    await page.waitForSelector('body.ready');
    assert.match(await page.locator('#exercise-results').innerText(), /1 exercise so far/);
  });

  onPage('keep results in the notebook that is open', {}, async (page) => {
    await begin(page, 'Lessons');
    await page.goto(new URL('learn.html#exercise?number=7&level=1', page.url()).href);
    await page.waitForSelector('body.ready');
    assert.match(await page.locator('#exercise-results').innerText(), /kept in the notebook .Lessons./);
    await page.locator('#exercise-go').click();
    await page.waitForSelector('#exercise-marked .score');
    await page.waitForTimeout(300);
    await page.reload();
    await page.waitForSelector('body.ready');
    assert.match(await page.locator('#exercise-results').innerText(), /1 exercise so far.*Lessons/);
    assert.equal(await page.evaluate(() => localStorage.getItem('sweepbook-exercises')), null);
  });

  onPage('move the curves on the bench and name what is built in', { path: 'learn.html#bench?type=12AU7&fault=plate-cathode-leakage,2,0.9&depth=1.5' }, async (page) => {
    await told(page, 'bench-told');
    assert.match(await page.locator('#bench-told').innerText(), /Built in: Plate.cathode leakage.*times the smallest/s);
    assert.match(await page.locator('#bench-told li.likely').first().innerText(), /Plate.cathode leakage/);
    const before = await ink(page, 'bench-curves');
    await page.locator('#ill-size-0').focus();
    await page.keyboard.press('Home');
    await page.waitForTimeout(50);
    await told(page, 'bench-told');
    assert.notEqual(await ink(page, 'bench-curves'), before);
    assert.match(page.url(), /fault=plate-cathode-leakage%2C2%2C-0.5/);
    // The link is all there is to it.
    const text = await page.locator('#bench-told').innerText();
    await page.goto(page.url());
    await page.reload();
    await page.waitForSelector('body.ready');
    await told(page, 'bench-told');
    assert.equal(await page.locator('#bench-told').innerText(), text);
    // What cannot be is said, and the curves stay.
    await page.locator('#bench-rs').fill('<b>4k7');
    await page.waitForSelector('#bench-bad:not([hidden])');
    assert.match(await page.locator('#bench-bad').innerText(), /Resistor in the grid lead: write it as 10k/);
    await page.locator('#bench-rs').fill('4k7');
    await page.waitForSelector('#bench-bad', { state: 'hidden' });
    await told(page, 'bench-told');
    await accessible(page, 'the lesson bench');
  });

  onPage('lead through the course with a question on each page', { path: 'learn.html#course?page=gas' }, async (page) => {
    assert.equal(await page.locator('#course-title').innerText(), 'Gas');
    await told(page, 'course-told');
    assert.match(await page.locator('#course-told').innerText(), /Gas, \d+/);
    await page.locator('#riddle-form .primary').click();
    assert.match(await page.locator('#riddle-answer').innerText(), /Choose one/);
    await page.locator('[name=riddle]').first().check();
    await page.locator('#riddle-form .primary').click();
    assert.match(await page.locator('#riddle-answer').innerText(), /^(Right|No): /);
    await accessible(page, 'a page of the course');
    const all = await page.locator('#course-list a').count();
    await page.locator('#course-list a').last().click();
    await page.waitForFunction(() => document.getElementById('course-after').hidden);
    assert.ok(all >= 18);
    await page.locator('#course-other').check();
    await page.waitForTimeout(50);
    await told(page, 'course-told');
    await page.locator('#course-on-bench').click();
    await page.waitForFunction(() => !document.getElementById('bench-view').hidden);
    assert.equal(await page.locator('#ill-0').inputValue(), 'intermittent');
  });

  onPage('print a set with the answers on a page of their own', { path: 'learn.html#exercise?number=1&level=1' }, async (page) => {
    await page.evaluate(() => { globalThis.print = () => {}; });
    await page.getByText('A set for a class').click();
    await page.locator('#set-count').fill('3');
    await page.locator('#set-print').click();
    assert.equal(await page.locator('#printed-set figure svg').count(), 3);
    const all = pages(await page.pdf());
    const answers = page.locator('#printed-set .answers');
    assert.equal(await answers.locator('li').count(), 3);
    await answers.evaluate((those) => those.remove());
    assert.equal(pages(await page.pdf()), all - 1, 'the answers have a page of their own');
  });

  onPage('work out a sum, or name the field that is wrong', { path: 'learn.html#sums?sum=supply' }, async (page) => {
    const go = page.locator('#sums-form .primary');
    await page.locator('#sum-secondary').fill('9V');
    await page.locator('#sum-reservoir').fill('<b>');
    await page.locator('#sum-load-current').fill('1A');
    await go.click();
    await page.waitForSelector('#sums-bad:not([hidden])');
    assert.equal(await page.evaluate(() => document.activeElement.id), 'sum-reservoir');
    await page.locator('#sum-reservoir').fill('10000u');
    await go.click();
    await page.waitForSelector('#sums-result table');
    assert.match(await page.locator('#sums-result').innerText(), /How: .*From: .*Left out: /s);
    assert.equal(await page.locator('#sums-result .sums-curve').count(), 1);
    await accessible(page, 'a sum that was worked out');
    for (const sum of ['heaters', 'source', 'elevation']) {
      await page.locator('#sums-which').selectOption(sum);
      await page.waitForFunction((of) => location.hash.includes(of), sum);
      await go.click();
      await page.waitForSelector('#sums-bad:not([hidden])');
    }
  });

  onPage('say nothing that overflows a narrow screen', { path: 'learn.html#bench', viewport: { width: 390, height: 844 } }, async (page) => {
    await told(page, 'bench-told');
    for (const view of ['bench', 'course', 'exercise', 'sums']) {
      await page.evaluate((to) => { location.hash = to; }, view);
      await page.waitForFunction((to) => !document.getElementById(`${to}-view`).hidden, view);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), view);
    }
  });
});
