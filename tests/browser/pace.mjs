// How quick the page stays with a notebook of many tubes, in Chromium:
//     node tests/browser/pace.mjs [TUBES]        (500 if not said; after `sweepbook page`, see harness.mjs)
// Prints how long the notebook takes to open, and the longest task while it is scrolled, stepped through and written in.
// Aims on an idle machine: open in 1.5 s, no task over 50 ms.
import { drop, launch, serve } from './harness.mjs';
import { begin, kept } from './notebook.mjs';

const tubes = Number(process.argv[2] ?? 500);

/** A sound twin triode after the three-halves law with a soft foot, with a scatter of its own. */
function sweep(i) {
  const rows = [];
  for (const section of [1, 2]) {
    const factor = 1 + 0.1 * Math.sin(7 * i + section);
    for (const va of [150, 200, 250]) {
      for (let vg = -16; vg <= 0.01; vg += 0.25) {
        const e = va / 20 + vg + 0.3;
        const soft = 0.35 * Math.log1p(Math.exp(Math.min(e / 0.35, 500)));
        const noise = 0.002 * Math.sin(1e4 * (vg + va + i));
        rows.push(`${section},${va},${vg.toFixed(2)},${(factor * 1.3 * soft ** 1.4 + noise).toFixed(4)}`);
      }
    }
  }
  return { name: `tube-${i}.csv`, text: `# tube: P${i}\n# type: 6SN7GTB\n# grid_source_resistance: 0 ohm\n# current_meter: plate lead\nsection,Va [V],Vg [V],Ia [mA]\n${rows.join('\n')}\n` };
}

/** The longest task of the page while something is done, ms; nought where none was over 50 ms, as browsers report them. */
async function longest(page, work) {
  await page.evaluate(() => {
    globalThis.longest = 0;
    globalThis.watch = new PerformanceObserver((list) => { for (const e of list.getEntries()) globalThis.longest = Math.max(globalThis.longest, e.duration); });
    globalThis.watch.observe({ type: 'longtask' });
  });
  await work();
  return page.evaluate(async () => {
    await new Promise((resolve) => setTimeout(resolve, 200));
    globalThis.watch.disconnect();
    return globalThis.longest;
  });
}

const frames = (page, count, step) => page.evaluate(async ([n, body]) => {
  const act = new Function('i', body);
  for (let i = 0; i < n; i++) {
    act(i);
    await new Promise((resolve) => requestAnimationFrame(resolve));
  }
}, [count, step]);

const server = await serve();
const browser = await launch();
try {
  const context = await browser.newContext({ viewport: { width: 1366, height: 768 } });
  const first = await context.newPage();
  await first.goto(server.url);
  await first.waitForSelector('body.ready');
  await begin(first, 'Pace');
  const start = performance.now();
  for (let i = 0; i < tubes; i += 50) await drop(first, Array.from({ length: Math.min(50, tubes - i) }, (_, k) => sweep(i + k)));
  await first.waitForFunction((n) => document.getElementById('progress').hidden && document.querySelectorAll('#tubes [role=option]').length === n, tubes, { timeout: 0 });
  const judged = performance.now() - start;
  await kept(first);
  await first.waitForTimeout(2000);
  await first.close();

  let opened = Infinity;
  let page;
  for (let run = 0; run < 3; run++) {
    await page?.close();
    page = await context.newPage();
    await page.goto(server.url, { waitUntil: 'commit' });
    await page.waitForFunction((n) => document.querySelectorAll('#tubes [role=option]').length === n, tubes, { polling: 'raf' });
    opened = Math.min(opened, await page.evaluate(() => performance.now()));
  }
  await page.waitForTimeout(3000);
  const list = await longest(page, () => frames(page, 100, "document.getElementById('tubes').scrollTop += 120"));
  const stepped = await longest(page, () => frames(page, 40, "document.getElementById('tubes').dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowDown', bubbles: true }))"));
  const written = await longest(page, async () => {
    await page.locator('#own-summary').click();
    await page.locator('#own-note').fill('as quick as it gets');
    await page.getByRole('button', { name: 'Add the note' }).click();
    await kept(page);
  });
  await page.evaluate(() => document.querySelector('[name=view][value=table]').click());
  await page.waitForSelector('#table-rows [role=row]');
  const table = await longest(page, () => frames(page, 150, "document.getElementById('table').scrollTop += 160"));
  const ordered = await longest(page, () => frames(page, 8, "document.querySelectorAll('#table-heads button')[i % 4].click()"));
  const says = (ms) => (ms ? `${ms.toFixed(0)} ms` : 'under 50 ms');
  console.log(`${tubes} tubes
  read and judged the first time    ${(judged / 1000).toFixed(1)} s
  notebook opened, from navigation  ${(opened / 1000).toFixed(2)} s   (fastest of 3)
  longest task: list scrolled       ${says(list)}
  longest task: list stepped        ${says(stepped)}
  longest task: a note written      ${says(written)}
  longest task: table scrolled      ${says(table)}
  longest task: table ordered       ${says(ordered)}`);
} finally {
  await browser.close();
  await server.stop();
}
