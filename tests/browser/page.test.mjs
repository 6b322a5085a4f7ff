// The page in a real browser. Needs a built page (harness.mjs says where) and
// two files of the corpus.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe, test } from 'node:test';
import { DIST, LEAKY, SOUND, accessible, drop, fromDisk, open, pressUntil, serve, setUp, settled } from './harness.mjs';

const HEAD = 'section,Va [V],Vg [V],Ia [mA]\n';
const SMALL = `${HEAD}1,100,-3,0.1\n1,100,-2,0.9\n1,100,-1,2.1\n1,200,-3,1.9\n1,200,-2,3.3\n1,200,-1,5.0\n`;
const LEAK_OHM = 661e3;
const SIZES = [{ width: 1366, height: 768 }, { width: 390, height: 844 }];

const at = setUp();
const { onPage } = at;

const optionOf = (page, name) => page.locator('#tubes [role=option]', { has: page.locator('.tube-name', { hasText: new RegExp(`^${name}$`) }) });

/** `661 kΩ` in ohm. */
function ohms(text) {
  const [, number, prefix] = text.match(/([\d.]+)\s([kMG]?)Ω/);
  return Number(number) * { '': 1, k: 1e3, M: 1e6, G: 1e9 }[prefix];
}

describe('reading', () => {
  onPage('two dropped sweeps get their verdicts, and the leak its number', {}, async (page) => {
    await drop(page, await fromDisk(SOUND, LEAKY));
    await settled(page, 2);
    assert.match(await optionOf(page, '000').textContent(), /Accept/);
    assert.match(await optionOf(page, '009').textContent(), /Reject|Restrict/);
    await optionOf(page, '009').click();
    const card = page.locator('#findings .finding').first();
    assert.match(await card.locator('h4').textContent(), /plate.cathode leakage/i);
    assert.match(await card.locator('.where').textContent(), /Section 1/);
    const value = ohms(await card.locator('.value strong').textContent());
    assert.ok(Math.abs(value / LEAK_OHM - 1) < 0.1, `${value} ohm`);
    assert.match(await card.locator('.interval').textContent(), /Ω to .*Ω/);
    assert.match(await card.locator('.sure').textContent(), /certain|likely/);
    assert.match(await card.textContent(), /What to measure next/);
    // Its points are marked, on an axis on which they can be told from zero.
    assert.equal(await card.locator('.mark').getAttribute('aria-pressed'), 'true');
    assert.equal(await page.locator('#axis input:checked').getAttribute('value'), 'decades');
    assert.ok(await inkOn(page) > 2000, 'the curves are drawn');
  });

  onPage('the keyboard alone reaches a finding and reads a point', {}, async (page) => {
    await drop(page, await fromDisk(SOUND, LEAKY));
    await settled(page, 2);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#tubes');
    await page.keyboard.press('End');
    assert.equal(await page.locator('#tube-title').textContent(), '009');
    await pressUntil(page, 'Tab', '#plot');
    for (const key of ['ArrowRight', 'ArrowRight', 'ArrowUp']) await page.keyboard.press(key);
    assert.match(await page.locator('#readout').textContent(), /Section.*Va.*Vg.*Ia.*A/);
    await page.waitForFunction(() => /Ia/.test(document.getElementById('figure-spoken').textContent));
    await pressUntil(page, 'Tab', '#findings .finding');
    const title = await page.evaluate(() => document.activeElement.closest('.finding').querySelector('h4').textContent);
    assert.match(title, /plate.cathode leakage/i);
    // No trap: the end of the page is reached.
    await pressUntil(page, 'Tab', 'body:not(:focus-within), footer, .masthead', 200).catch(() => assert.fail('focus is trapped'));
  });

  onPage('a second sweep of a tube has the first one judged again', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    await optionOf(page, '009').first().click();
    const cannot = page.locator('#sheet');
    assert.match(await cannot.innerText(), /each point was read once/);
    const [again] = await fromDisk(LEAKY);
    await drop(page, [{ ...again, name: 'second.csv' }]);
    await settled(page, 2);
    await page.waitForFunction(() => !/each point was read once/.test(document.querySelector('#sheet').innerText));
  });

  onPage('a pasted table is read, and an empty one is asked for again', {}, async (page) => {
    await page.locator('.masthead [data-do=paste]').click();
    await page.locator('#paste .primary').click();
    assert.ok(await page.locator('#paste-empty').isVisible());
    await page.locator('#paste-name').fill('from the clipboard');
    await page.locator('#paste-text').fill(SMALL);
    await page.locator('#paste .primary').click();
    await settled(page, 1);
    assert.equal(await page.locator('#tube-title').textContent(), 'from the clipboard');
  });

  onPage('what cannot be read is told with its place and its mend; the rest is kept', {}, async (page) => {
    await drop(page, [
      { name: 'good.csv', text: SMALL },
      { name: 'empty.csv', text: '' },
      { name: 'cell.csv', text: `${HEAD}1,100,abc,3\n` },
      { name: 'binary.csv', bytes: Uint8Array.of(80, 75, 3, 4, 0) },
      { name: 'large.csv', size: 193 * 1024 * 1024 },
    ]);
    await settled(page, 1);
    const items = page.locator('#unread-list li');
    assert.equal(await items.count(), 4);
    assert.match(await items.nth(1).textContent(), /cell\.csv.*line 2, column 3.*abc.*not a number.*Correct the cell/);
    assert.match(await items.nth(3).textContent(), /large\.csv.*MB/);
    await items.nth(0).locator('button').click();
    assert.equal(await items.count(), 3);
  });

  onPage('markup in a name is shown as text', {}, async (page) => {
    const name = '<img src=x onerror=alert(1)><b>B</b>';
    await drop(page, [{ name: 'a.csv', text: `# tube: ${name}\n# note: <i>x</i>\n${SMALL}` }]);
    await settled(page, 1);
    assert.equal(await page.locator('#tube-title').textContent(), name);
    assert.equal(await page.locator('main img, main b b, #notes-list i').count(), 0);
  });

  onPage('numbers are shown as the user writes them, and never in files', { locale: 'de-DE' }, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    assert.match(await page.locator('#figures-table').innerText(), /\d,\d+.mS/);
    assert.doesNotMatch(await page.locator('.said').innerText(), /\d\.\d+.(mS|mA|k\u03a9|M\u03a9|%)/);
    await page.locator('#plot').focus();
    await page.keyboard.press('ArrowRight');
    await page.waitForFunction(() => /\d,\d/.test(document.getElementById('readout').textContent));
    const saved = async (id) => {
      const [download] = await Promise.all([page.waitForEvent('download'), page.locator(id).click()]);
      return readFile(await download.path(), 'utf8');
    };
    assert.match(await saved('#save-report'), /"estimate":\s*\d+\.\d/);
    assert.doesNotMatch(await saved('#save-figure'), />[\u2212\d]+,\d+</);
  });

  // How quick that is, pace.mjs measures.
  onPage('five hundred tubes are stepped through and searched', {}, async (page) => {
    const rows = SMALL.split('\n').slice(1).filter(Boolean);
    const text = `tube,${HEAD}${Array.from({ length: 500 }, (_, i) => rows.map((row) => `T${i},${row}`).join('\n')).join('\n')}\n`;
    await drop(page, [{ name: 'lot.csv', text }]);
    await settled(page, 500);
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    assert.equal(await page.locator('#tube-title').textContent(), 'T499');
    await page.keyboard.press('ArrowUp');
    assert.equal(await page.locator('#tube-title').textContent(), 'T498');
    await page.locator('#find').fill('T49');
    await settled(page, 11);
  });
});

describe('when things fail', () => {
  const allow = [/Service Worker registration blocked by Playwright/];
  onPage('a file on which the program stops is named, and everything else is read', { allow, serviceWorkers: 'block' }, async (page, context) => {
    await context.route('**/worker.js', async (route) => {
      const original = await route.fetch();
      const text = (await original.text()).replace(/read\(name, ?bytes, ?how\)/, "(name === 'trap.csv' ? stop() : read(name, bytes, how))");
      await route.fulfill({ response: original, body: `${text}\nfunction stop() { throw new WebAssembly.RuntimeError('TRAP FOR THE TEST'); }` });
    });
    await drop(page, [{ name: 'one.csv', text: SMALL }, { name: 'trap.csv', text: SMALL }, { name: 'two.csv', text: SMALL }]);
    await settled(page, 2);
    assert.match(await page.locator('#unread-list li').textContent(), /trap\.csv.*TRAP FOR THE TEST/);
  });

  test('the page still works after its server has stopped', async () => {
    const own = await serve();
    const { page, context, wrong } = await open(at.browser, own.url, { path: '?x=1' });
    await page.waitForFunction(() => document.getElementById('offline').textContent.startsWith('Kept'));
    await own.stop();
    await page.goto(own.url);
    await page.waitForSelector('body.ready');
    await drop(page, await fromDisk(SOUND, LEAKY));
    await settled(page, 2);
    assert.match(await optionOf(page, '009').textContent(), /Reject|Restrict/);
    await page.reload();
    await page.waitForSelector('body.ready');
    assert.deepEqual(wrong, []);
    await context.close();
  });

  test('a new version is offered, not forced', async () => {
    let newer = false;
    const own = await serve({ change: (path, text) => (newer && path === '/sw.js' ? text.replace(/build-[0-9a-f]+'/, "build-newer'") : undefined) });
    const { page, context, wrong } = await open(at.browser, own.url);
    await page.waitForFunction(() => document.getElementById('offline').textContent.startsWith('Kept'));
    newer = true;
    await page.reload();
    await page.waitForSelector('body.ready');
    await page.waitForSelector('#news:not([hidden])');
    assert.match(await page.locator('#news').textContent(), /new version/i);
    await Promise.all([page.waitForEvent('load'), page.locator('#news-take').click()]);
    await page.waitForSelector('body.ready');
    const kept = await page.evaluate(() => caches.keys());
    assert.deepEqual(kept, ['sweepbook-build-newer']);
    assert.deepEqual(wrong, []);
    await context.close();
    await own.stop();
  });
});

describe('for everyone', () => {
  for (const colorScheme of ['light', 'dark']) {
    for (const viewport of SIZES) {
      onPage(`axe finds nothing, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        await accessible(page, 'empty');
        await drop(page, [...await fromDisk(SOUND, LEAKY), { name: 'empty.csv', text: '' }]);
        await settled(page, 2);
        await optionOf(page, '009').click();
        for (const details of await page.locator('details:visible').all()) await details.evaluate((d) => { d.open = true; });
        await page.locator('#plot').focus();
        await page.keyboard.press('ArrowRight');
        await accessible(page, 'lot');
        await page.locator('.masthead [data-do=paste]').click();
        await accessible(page, 'paste');
      });
    }
  }

  for (const [name, options] of [
    ['at 320 pixels', { viewport: { width: 320, height: 640 } }],
    ['at 200 percent on a small laptop', { viewport: { width: 683, height: 384 }, deviceScaleFactor: 2 }],
    ['with forced colours', { forcedColors: 'active' }],
    ['without motion', { reducedMotion: 'reduce' }],
  ]) {
    onPage(`nothing is cut off ${name}`, options, async (page) => {
      const fits = () => page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth);
      assert.ok(await fits(), 'empty');
      await drop(page, [...await fromDisk(LEAKY), { name: 'long.csv', text: `# tube: ${'endless'.repeat(30)}\n${SMALL}` }]);
      await settled(page, 2);
      assert.ok(await fits(), 'a finding');
      await page.locator('#tubes').focus();
      await page.keyboard.press('End');
      assert.ok(await fits(), 'a long name');
      assert.ok(await inkOn(page) > 500, 'the curves are drawn');
      const small = await page.evaluate(() => [...document.querySelectorAll('button, .button, select, summary, .chip, [type=checkbox], [role=option]')]
        .filter((e) => e.checkVisibility())
        .map((e) => [e, (e.matches('[type=checkbox]') ? e.closest('label') : e).getBoundingClientRect()])
        .filter(([, box]) => box.width < 24 || box.height < 24)
        .map(([e]) => e.outerHTML.slice(0, 80)));
      assert.deepEqual(small, [], 'targets of at least 24 pixels');
    });
  }

  onPage('on paper there is the verdict, the figure and the findings', {}, async (page) => {
    await drop(page, await fromDisk(LEAKY));
    await settled(page, 1);
    const figure = await page.evaluate(() => {
      dispatchEvent(new Event('beforeprint'));
      return document.querySelectorAll('#printed-figure svg polyline').length;
    });
    assert.ok(figure > 5);
    await page.emulateMedia({ media: 'print' });
    assert.ok(await page.locator('#printed-figure svg').isVisible());
    assert.ok(await page.locator('#stamp').isVisible());
    assert.ok(!await page.locator('.masthead').isVisible());
    assert.ok((await page.pdf()).length > 10_000);
  });

  test('the sample lot opens by its address', async (t) => {
    const { page, context, wrong } = await open(at.browser, at.base);
    const names = await page.evaluate(async () => (await fetch('samples/index.json')).json());
    await context.close();
    if (names.length === 0) return t.skip(`no samples in ${DIST}`);
    const second = await open(at.browser, at.base, { path: '?open=samples' });
    await settled(second.page, names.length);
    assert.deepEqual([...wrong, ...second.wrong], []);
    await second.context.close();
  });
});

/** Pixels of the curves' canvas that are not its ground. */
const inkOn = (page) => page.evaluate(async () => {
  await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
  const canvas = document.getElementById('curves');
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let ink = 0;
  for (let i = 4; i < data.length; i += 4) if (data[i] !== data[0] || data[i + 1] !== data[1]) ink++;
  return ink;
});
