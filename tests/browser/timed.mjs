// Times work of the package sweepbook-timed in a worker of Chromium, as the page's reader is one:
//     node timed.mjs FOLDER PLAN
// FOLDER holds its program; PLAN is a JSON file: a list of { what, file, expected, runs }. `what` is a function of the
// package, or a work of its Bench (`Bench.tube`). Prints the seconds of the fastest and of the middle run of each, as JSON.
import { createReadStream, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { extname, join } from 'node:path';
import { launch } from './harness.mjs';

const [folder, planned] = process.argv.slice(2);
const plan = JSON.parse(readFileSync(planned, 'utf8'));
const WORKER = `
  import init, * as timed from './timed.js';
  self.addEventListener('message', ({ data }) => run(data).then((all) => self.postMessage({ all }), (error) => self.postMessage({ wrong: String(error.stack) })));
  async function run(plan) {
    await init({ module_or_path: new URL('./timed_bg.wasm', import.meta.url) });
    const all = [];
    for (const [i, { what, expected, runs }] of plan.entries()) {
      const bytes = new Uint8Array(await (await fetch('./file/' + i)).arrayBuffer());
      const work = what.startsWith('Bench.') ? what.slice(6) : null;
      const bench = work === null ? null : timed.Bench.new(bytes);
      const took = [];
      for (let k = 0; k < runs; k++) {
        const start = performance.now();
        const gave = bench ? bench.run(work) : timed[what](bytes);
        took.push(performance.now() - start);
        if (gave !== expected) throw new Error(what + ' gave ' + gave + ', not ' + expected);
      }
      took.sort((a, b) => a - b);
      all.push({ fastest: took[0] / 1000, middle: took[Math.floor(runs / 2)] / 1000 });
    }
    return all;
  }`;
const TYPES = { '.js': 'text/javascript', '.wasm': 'application/wasm' };

const server = createServer((request, response) => {
  const name = new URL(request.url, 'http://x').pathname.slice(1);
  response.setHeader('Content-Type', TYPES[extname(name)] ?? 'text/html');
  // So that the clock shows five microseconds and not a hundred.
  response.setHeader('Cross-Origin-Opener-Policy', 'same-origin');
  response.setHeader('Cross-Origin-Embedder-Policy', 'require-corp');
  if (name === 'worker.js') response.end(WORKER);
  else if (name.startsWith('file/')) createReadStream(plan[Number(name.slice(5))].file).pipe(response);
  else if (['timed.js', 'timed_bg.wasm'].includes(name)) createReadStream(join(folder, name)).pipe(response);
  else response.end('<!doctype html><title>timed</title>');
});
await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
const browser = await launch();
try {
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const { all, wrong } = await page.evaluate((asked) => new Promise((resolve) => {
    const worker = new Worker('./worker.js', { type: 'module' });
    worker.onmessage = ({ data }) => resolve(data);
    worker.onerror = (event) => resolve({ wrong: event.message });
    worker.postMessage(asked);
  }), plan);
  if (wrong !== undefined) throw new Error(wrong);
  console.log(JSON.stringify(all));
} finally {
  await browser.close();
  server.closeAllConnections();
  server.close();
}
