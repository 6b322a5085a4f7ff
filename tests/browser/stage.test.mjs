// The tubes of the lot in a stage that the user describes.
import assert from 'node:assert/strict';
import { describe } from 'node:test';
import { LEAKY, SOUND, accessible, setUp, settled } from './harness.mjs';

const { onPage } = setUp();

describe('a stage', () => {
  onPage('is worked out for every section, or the wrong field is named', {}, async (page) => {
    await page.setInputFiles('#files', [SOUND, LEAKY]);
    await settled(page, 2);
    await page.locator('#stage-open').click();
    const field = (name) => page.locator(`#stage-form [name=${name}]`);
    await field('bias').fill('1,5 kohms<i>');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#stage-bad:not([hidden])');
    assert.match(await page.locator('#stage-bad').innerText(), /^The cathode: write it as 1k5/);
    assert.equal(await page.evaluate(() => document.activeElement.name), 'bias');
    await field('bias').fill('1k');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#stage-result table');
    assert.equal(await page.locator('#stage-result tbody th').count(), 4);
    assert.match(await page.locator('#stage-result').innerText(), /Over \d of 4 sections: plate current .* to .*; gain /);
    assert.match(await page.locator('#stage-result').innerText(), /With its plate cathode leakage .* flow/);
    await accessible(page, 'the tubes in a stage');
    await page.setViewportSize({ width: 390, height: 844 });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
    await page.locator('#stage-done').click();
    assert.equal(await page.evaluate(() => document.activeElement.id), 'stage-open');
  });
});
