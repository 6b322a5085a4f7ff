// How quickly the curves of the lesson bench follow a slider, against a frame in which the canvas is only cleared:
//     node lesson-pace.mjs [TYPE]
// Needs the built page, as the tests do.
import { launch, serve } from './harness.mjs';

const [type = '12AU7'] = process.argv.slice(2);
const MOVES = 120;
const server = await serve();
const browser = await launch();
try {
  const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  await page.goto(`${server.url}learn.html#bench?type=${type}&fault=plate-cathode-leakage,1,0.5&ig=yes`);
  await page.waitForSelector('body.ready');
  await page.waitForFunction(() => document.getElementById('bench-told').children.length > 0);
  const { moved, empty } = await page.evaluate(async (moves) => {
    const slider = document.getElementById('ill-size-0');
    const frame = () => new Promise((resolve) => requestAnimationFrame(resolve));
    const median = (times) => times.sort((a, b) => a - b)[times.length >> 1];
    // A frame's callbacks run in the order in which they were asked for: the time between one before and one after is
    // what the drawing takes.
    const timed = async (work) => {
      await frame();
      let from = 0;
      requestAnimationFrame(() => { from = performance.now(); });
      const input = performance.now();
      work();
      const handled = performance.now() - input;
      await frame();
      return handled + performance.now() - from;
    };
    const moved = [];
    for (let i = 0; i < moves; i += 1) {
      moved.push(await timed(() => {
        slider.value = -0.5 + (1.8 * (i % 60)) / 60;
        slider.dispatchEvent(new Event('input', { bubbles: true }));
      }));
    }
    const canvas = document.getElementById('bench-curves');
    const empty = [];
    for (let i = 0; i < moves; i += 1) {
      empty.push(await timed(() => requestAnimationFrame(() => {
        canvas.width = canvas.width;
        canvas.getContext('2d').fillRect(0, 0, canvas.width, canvas.height);
      })));
    }
    return { moved: median(moved), empty: median(empty) };
  }, MOVES);
  console.log(`${type}: a move of the slider takes ${moved.toFixed(1)} ms (median of ${MOVES}), an empty redraw ${empty.toFixed(2)} ms: ${(moved / Math.max(empty, 0.01)).toFixed(0)} times`);
} finally {
  await browser.close();
  await server.stop();
}
