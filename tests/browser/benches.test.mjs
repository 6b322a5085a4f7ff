// Bench profiles: made, named, chosen for a lot, changed, kept.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { describe } from 'node:test';
import { SOUND, accessible, drop, fromDisk, pressUntil, setUp, settled } from './harness.mjs';
import { zip } from './zip.mjs';

const TABLE = 'Va [V],Vg [V],Ia [mA]\n100,-3,0.1\n100,-2,0.9\n100,-1,2.1\n';
const SILENT = `# tube: 7\n${TABLE}`;
const SAYS = `# tube: 8\n# grid_source_resistance: 1 Mohm\n${TABLE}`;
const PROFILE = JSON.stringify({ schema: 'sweepbook/bench/1', name: 'Workshop', grid_source_resistance: '10 kohm', current_meter: 'plate lead' });

const at = setUp();
const { onPage } = at;

const focused = (page) => page.evaluate(() => document.activeElement.id);
const notes = (page) => page.locator('#notes-list').innerText();
/** Waits until the notes of the tube that is shown hold a text, or do not. */
const noted = (page, text, there = true) => page.waitForFunction(([text, there]) => document.getElementById('progress').hidden
  && document.getElementById('notes-list').innerText.includes(text) === there, [text, there]);

async function make(page, name, fields) {
  await page.locator('#bench-edit').click();
  await page.locator('#bench-which').selectOption('');
  for (const [field, value] of Object.entries({ name, ...fields })) {
    const input = page.locator(`#bench-${field}`);
    if (field === 'current_meter') await input.selectOption(value);
    else await input.fill(value);
  }
  await page.locator('#bench-form .primary').click();
}

describe('bench profiles', () => {
  onPage('one is made, chosen and changed by keyboard alone, and the lot is judged again', {}, async (page) => {
    await drop(page, [{ name: 'silent.csv', text: SILENT }, { name: 'says.csv', text: SAYS }]);
    await settled(page, 2);
    await page.evaluate(() => document.activeElement.blur());
    await pressUntil(page, 'Tab', '#bench-edit');
    await page.keyboard.press('Enter');
    assert.equal(await focused(page), 'bench-name');
    await page.keyboard.type('Workshop');
    await page.keyboard.press('Tab');
    await page.keyboard.type('lots');
    await page.keyboard.press('Enter');
    assert.match(await page.locator('#bench-bad').innerText(), /Resistor in the grid lead: "lots" cannot be read.*10 kohm/);
    await page.keyboard.press('ControlOrMeta+a');
    await page.keyboard.type('10 kohm');
    await page.keyboard.press('Enter');
    assert.ok(await page.locator('#bench-bad').isHidden());
    assert.equal(await page.locator('#bench-which').inputValue(), 'Workshop');
    await page.keyboard.press('Escape');
    assert.equal(await focused(page), 'bench-edit');

    assert.ok(!/bench profile/.test(await page.locator('#sheet').innerText()), 'made is not chosen');
    await page.keyboard.press('Shift+Tab');
    assert.equal(await focused(page), 'bench-choice');
    await page.keyboard.press('ArrowDown');
    await noted(page, 'From the bench profile "Workshop": grid_source_resistance 10.0 kΩ.');
    await settled(page, 2);
    assert.equal(await focused(page), 'bench-choice', 'the focus stays');
    assert.match(await page.locator('#bench-says').innerText(), /Grid source resistance 10\.0 kΩ/);
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    await noted(page, "The file's grid_source_resistance 1.00 MΩ was kept; the bench profile says 10.0 kΩ.");

    // A change of the chosen one counts at once, and the chosen tube stays.
    await page.locator('#bench-edit').click();
    await page.locator('#bench-grid_source_resistance').fill('0');
    await page.keyboard.press('Enter');
    await noted(page, 'the bench profile says 0 Ω');
    assert.equal(await page.locator('#tube-title').textContent(), '8');
    await page.locator('#bench-done').click();
    await page.locator('#bench-choice').selectOption('');
    await noted(page, 'bench profile', false);
    await settled(page, 2);
  });

  onPage('is kept over a reload, offered and not applied; it can be deleted', {}, async (page) => {
    await drop(page, [{ name: 'silent.csv', text: SILENT }]);
    await settled(page, 1);
    await make(page, 'Workshop', { current_limit: '25 mA', current_meter: 'cathode lead' });
    await page.locator('#bench-done').click();
    await make(page, 'Workshop', { current_limit: '1 A' });
    assert.match(await page.locator('#bench-bad').innerText(), /named Workshop already/);
    await page.reload();
    await page.waitForSelector('body.ready');
    await drop(page, [{ name: 'silent.csv', text: SILENT }]);
    await settled(page, 1);
    assert.equal(await page.locator('#bench-choice').inputValue(), '');
    assert.deepEqual(await page.locator('#bench-choice option').allTextContents(), ['as the files say', 'Workshop']);
    await page.locator('#bench-choice').selectOption('Workshop');
    await noted(page, 'current_meter cathode lead, current_limit 25.0 mA');
    // The next lot may be of another bench.
    await page.locator('#close-lot').click();
    await page.locator('#close-form .primary').click();
    await drop(page, [{ name: 'silent.csv', text: SILENT }]);
    await settled(page, 1);
    assert.equal(await page.locator('#bench-choice').inputValue(), '');
    await page.locator('#bench-choice').selectOption('Workshop');
    await noted(page, 'bench profile');
    await page.locator('#bench-edit').click();
    await page.locator('#bench-delete').click();
    await noted(page, 'bench profile', false);
    assert.deepEqual(await page.locator('#bench-choice option').allTextContents(), ['as the files say']);
  });

  onPage('goes to a file and comes from one; a bad one is told with its line', {}, async (page) => {
    await drop(page, [{ name: 'silent.csv', text: SILENT }]);
    await settled(page, 1);
    await page.locator('#bench-edit').click();
    await page.locator('#bench-file').setInputFiles({ name: 'bad.json', mimeType: 'application/json', buffer: Buffer.from('{\n"schema": "sweepbook/bench/9", "name": "x"}') });
    await page.waitForSelector('#bench-bad:not([hidden])');
    assert.match(await page.locator('#bench-bad').innerText(), /bad\.json, line 2: .*sweepbook\/bench\/9/);
    await page.locator('#bench-file').setInputFiles({ name: 'w.json', mimeType: 'application/json', buffer: Buffer.from(PROFILE) });
    await page.waitForFunction(() => document.getElementById('bench-name').value === 'Workshop');
    assert.equal(await page.locator('#bench-current_meter').inputValue(), 'plate lead');
    await page.locator('#bench-form .primary').click();
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('#bench-export').click()]);
    assert.equal(download.suggestedFilename(), 'bench-Workshop.json');
    assert.deepEqual(JSON.parse(await readFile(await download.path(), 'utf8')), JSON.parse(PROFILE));
  });

  onPage('what is dropped later, and what waits for an answer, gets it too', {}, async (page) => {
    const unclear = 'Va [V];Vg [V];Ia [uA]\n200;-3;1,234\n200;-2;2,345\n200;-1;3,456\n';
    await drop(page, [{ name: 'lot.zip', bytes: zip([['a.csv', SILENT], ['b.csv', unclear]]) }]);
    await page.waitForSelector('.question');
    await settled(page, 1);
    await make(page, 'Workshop', { grid_source_resistance: '10k' });
    await page.locator('#bench-done').click();
    await page.locator('#bench-choice').selectOption('Workshop');
    await noted(page, 'bench profile');
    assert.equal(await page.locator('.question').count(), 1);
    assert.ok(await page.getByText('Leave this table out').isVisible());
    await page.locator('.candidate').nth(0).click();
    await page.locator('#questions .primary').click();
    await settled(page, 2);
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    assert.match(await notes(page), /bench profile "Workshop"/);
    await drop(page, [{ name: 'later.csv', text: SILENT.replace('7', '9') }]);
    await settled(page, 3);
    await page.locator('#tubes').focus();
    await page.keyboard.press('End');
    assert.equal(await page.locator('#tube-title').textContent(), '9');
    assert.match(await notes(page), /bench profile "Workshop"/);
  });

  for (const colorScheme of ['light', 'dark']) {
    for (const viewport of [{ width: 1366, height: 768 }, { width: 390, height: 844 }]) {
      onPage(`axe finds nothing and nothing is cut off, ${colorScheme}, ${viewport.width} wide`, { colorScheme, viewport }, async (page) => {
        const picture = async (name) => {
          if (process.env.SWEEPBOOK_PICTURES) await page.screenshot({ path: `${process.env.SWEEPBOOK_PICTURES}/${name}-${viewport.width}-${colorScheme}.png` });
        };
        await drop(page, await fromDisk(SOUND));
        await settled(page, 1);
        await make(page, 'A bench with quite a long name, in the shed behind the house', { grid_source_resistance: '10 kohm', current_limit: 'x' });
        await accessible(page, 'panel');
        await picture('bench-panel');
        assert.ok(await page.evaluate(() => document.getElementById('benches').scrollWidth <= document.getElementById('benches').clientWidth), 'panel');
        await page.locator('#bench-current_limit').fill('25 mA');
        await page.locator('#bench-form .primary').click();
        await page.locator('#bench-done').click();
        await page.locator('#bench-choice').selectOption({ index: 1 });
        await noted(page, 'bench profile');
        await accessible(page, 'chosen');
        await picture('bench-chosen');
        assert.ok(await page.evaluate(() => document.scrollingElement.scrollWidth <= innerWidth), 'chosen');
      });
    }
  }
});
