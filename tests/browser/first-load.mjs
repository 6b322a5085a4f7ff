// How long from an address to a finding, in Chromium over loopback:
//     node tests/browser/first-load.mjs [VISITS]        (7 if not said; after `sweepbook page`, see harness.mjs)
// Prints the middle of so many first visits, each with a profile of its own, to the first finding of the sample lot, and
// to its last; and of as many second visits without a connection, until the page can be used and until the lot's first finding.
// Aims on an idle machine: 1 s for a first visit, 0.5 s for a second one without a connection.
import { launch, serve } from './harness.mjs';

const visits = Number(process.argv[2] ?? 7);
const middle = (all) => all.sort((a, b) => a - b)[Math.floor(all.length / 2)];
const now = (page) => page.evaluate(() => performance.now());

/** Until a finding is shown, and until the whole lot is judged, ms from navigation. */
async function found(page) {
  await page.waitForFunction(() => document.querySelectorAll('#findings > *').length > 0, null, { polling: 'raf' });
  const first = await now(page);
  await page.waitForFunction(() => document.querySelectorAll('#tubes [role=option]').length > 0 && document.getElementById('progress').hidden, null, { polling: 'raf' });
  return { first, last: await now(page) };
}

const server = await serve();
const browser = await launch();
const took = { first: [], last: [], ready: [], again: [] };
try {
  for (let i = 0; i < visits; i++) {
    const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
    const page = await context.newPage();
    await page.goto(`${server.url}?open=samples`, { waitUntil: 'commit' });
    const { first, last } = await found(page);
    took.first.push(first);
    took.last.push(last);
    await page.waitForFunction(() => /Kept on this machine/.test(document.getElementById('offline').textContent));
    await page.close();
    await context.setOffline(true);
    const second = await context.newPage();
    await second.goto(server.url, { waitUntil: 'commit' });
    await second.waitForSelector('body.ready', { state: 'attached' });
    took.ready.push(await now(second));
    await second.goto(`${server.url}?open=samples`, { waitUntil: 'commit' });
    took.again.push((await found(second)).first);
    await context.close();
  }
} finally {
  await browser.close();
  await server.stop();
}
for (const [what, all] of [
  ['first visit, to the first finding of the sample lot', took.first],
  ['first visit, to the last tube of the sample lot', took.last],
  ['second visit without a connection, to a page that can be used', took.ready],
  ['second visit without a connection, to the first finding', took.again],
]) console.log(`${what.padEnd(62)} ${(middle(all) / 1000).toFixed(2)} s`);
