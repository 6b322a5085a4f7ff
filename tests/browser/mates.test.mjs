// The picture of the lot, and that the page counts as the terminal program does.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe } from 'node:test';
import { fileURLToPath } from 'node:url';
import { LEAKY, PROGRAM, SOUND, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';

const at = setUp();
const { onPage } = at;

const VA = [100, 150, 200, 250];
/** Cutoff is round, as the tail of every real tube is, V. */
const ROUND = 0.35;
/** A tube of a law of its own: current and amplification factor as many times the usual. */
function tube(name, { current = 1, mu = 1, type = '6SN7GTB' } = {}) {
  const rows = VA.flatMap((va) => Array.from({ length: 24 }, (_, i) => {
    const vg = -0.5 * i;
    const drive = ROUND * Math.log1p(Math.exp((va / (20 * mu) + vg + 0.5) / ROUND));
    return `1,${va},${vg},${(0.45 * current * drive ** 1.5).toFixed(5)}`;
  }));
  return { name: `${name}.csv`, text: `# tube: ${name}\n# type: ${type}\nsection,Va [V],Vg [V],Ia [mA]\n${rows.join('\n')}\n` };
}

/** Twelve tubes of two makes, one of them far off, and one of another type. */
const LOT = [
  ...Array.from({ length: 12 }, (_, i) => tube(`B-${i + 1}`, {
    current: (i % 2 ? 1.12 : 1) * (1 + 0.004 * ((i * 7) % 5 - 2)) * (i === 4 ? 0.6 : 1),
    mu: (i % 2 ? 1.09 : 1) * (1 + 0.001 * ((i * 3) % 7 - 3)),
  })),
  tube('C-1', { type: '12AU7' }),
];

async function withLot(page) {
  await drop(page, LOT);
  await settled(page, LOT.length);
  await page.waitForFunction(() => !document.getElementById('mates').hidden);
}

const title = (page) => page.locator('#tube-title').textContent();

describe('the picture of the lot', () => {
  onPage('groups and the odd tube are said, and the odd one opens', {}, async (page) => {
    await withLot(page);
    assert.match(await page.locator('#lot-says').textContent(), /12 tubes in 2 groups/);
    assert.match(await page.locator('#lot-odd-list').textContent(), /^B-5 .*plate current [\d.]+ % below its mates[^B]*$/);
    await page.locator('#lot-odd-list button').first().click();
    assert.equal(await title(page), 'B-5');
    assert.equal(await page.locator('#tubes [aria-selected=true] .tube-name').textContent(), 'B-5');
    // A tube that is alone of its type has no mates.
    await page.locator('#tubes [role=option]').last().click();
    assert.ok(await page.locator('#mates').isHidden());
  });

  onPage('by keyboard alone a tube is found, read out and opened', {}, async (page) => {
    await withLot(page);
    await pressUntil(page, 'Tab', '#lot-plot');
    await page.keyboard.press('End');
    assert.match(await page.locator('#lot-readout').textContent(), /TubeB-\d+.*Amplification factor2\d/);
    await page.waitForFunction(() => /Tube B-/.test(document.getElementById('lot-spoken').textContent));
    const pointed = (await page.locator('#lot-readout dd').first().textContent());
    assert.notEqual(pointed, await title(page));
    await page.keyboard.press('Enter');
    assert.equal(await title(page), pointed);
    assert.ok(await page.evaluate(() => document.activeElement.id === 'lot-plot'), 'the focus stays');
    await page.keyboard.press('Escape');
    assert.equal(await page.locator('#lot-readout dd').count(), 0);
  });

  onPage('the pointer reads a tube and opens it', {}, async (page) => {
    await withLot(page);
    await page.locator('#lot-plot').scrollIntoViewIfNeeded();
    const box = await page.locator('#lot-plot').boundingBox();
    let found = false;
    // The odd one has a place of its own, wherever that is.
    for (let place = 0; place < 400 && !found; place++) {
      const [x, y] = [box.x + 60 + (place % 20) * 24, box.y + 30 + Math.floor(place / 20) * 16];
      if (y > box.y + box.height - 40) break;
      await page.mouse.move(x, y);
      found = /TubeB-5/.test(await page.locator('#lot-readout').textContent());
      if (found) await page.mouse.click(x, y);
    }
    assert.ok(found, 'it is under the pointer somewhere');
    assert.equal(await title(page), 'B-5');
  });

  onPage('other axes are picked, stay for the next tube, and are in the table', {}, async (page) => {
    await withLot(page);
    const axes = await page.locator('#lot-x option').allTextContents();
    assert.ok(axes.includes('transconductance') && axes.some((a) => /^first component: /.test(a)), axes.join('; '));
    await page.locator('#lot-x').selectOption({ label: 'transconductance' });
    await page.locator('#lot-y').selectOption({ label: axes.find((a) => a.startsWith('first component')) });
    await page.locator('#next').click();
    assert.equal(await page.locator('#lot-x option:checked').textContent(), 'transconductance');
    await page.locator('#lot-numbers summary').click();
    assert.match(await page.locator('#lot-table thead').textContent(), /^TubeGroupTransconductanceFirst component/);
    assert.equal(await page.locator('#lot-table tbody tr').count(), 12);
    assert.match(await page.locator('#lot-plot').getAttribute('aria-label'), /transconductance across/);
  });

  onPage('one tube alone has no picture, and a closed lot leaves none behind', {}, async (page) => {
    await drop(page, [LOT[0]]);
    await settled(page, 1);
    assert.ok(await page.locator('#mates').isHidden());
    await drop(page, LOT.slice(1, 6));
    await settled(page, 6);
    await page.waitForFunction(() => !document.getElementById('mates').hidden);
    await page.locator('#close-lot').click();
    await page.locator('#close-form .primary, #close-form button').first().click();
    await drop(page, [LOT[7]]);
    await settled(page, 1);
    assert.ok(await page.locator('#mates').isHidden());
  });

  for (const [width, colorScheme] of [[1366, 'light'], [390, 'dark']]) {
    onPage(`nothing for axe at ${width}, ${colorScheme}`, { viewport: { width, height: 800 }, colorScheme }, async (page) => {
      await withLot(page);
      await page.locator('#lot-numbers summary').click();
      await accessible(page, 'the picture of the lot');
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), 'nothing sticks out');
    });
  }
});

describe('the page and the terminal program', () => {
  onPage('say the same of every tube and of the lot, to the last digit', {}, async (page) => {
    const folder = process.env.SWEEPBOOK_CORPUS ?? join(dirname(fileURLToPath(import.meta.url)), '../corpus');
    const paths = readdirSync(folder).filter((name) => name.endsWith('.csv')).sort().map((name) => join(folder, name));
    assert.ok(paths.length >= 16 && paths.includes(SOUND) && paths.includes(LEAKY));
    const files = await fromDisk(...paths);
    const here = await page.evaluate(async (list) => {
      const entry = new URL('../sweepbook_page.js', document.querySelector('script[type=module]').src);
      const program = await import(entry.href);
      await program.default({ module_or_path: new URL('sweepbook_page_bg.wasm', entry) });
      const read = list.map(({ name, text }) => JSON.parse(program.read(name, new TextEncoder().encode(text), '{}')).tubes[0]);
      return { reports: read.map(({ report }) => report), lot: program.compared(`[${read.map(({ member }) => member).join(',')}]`) };
    }, files);
    const there = (...words) => JSON.parse(execFileSync(PROGRAM, [...words, ...paths], { encoding: 'utf8', maxBuffer: 1 << 26 }));
    // A number has one shortest text: numbers that are equal were printed alike.
    assert.deepEqual(here.reports.map((text) => ({ ...JSON.parse(text), source: null })), there('triage', '--json').tubes.map((tube) => ({ ...tube, source: null })));
    assert.deepEqual(JSON.parse(here.lot).parts, there('lot', '--json').parts);
  });
});
