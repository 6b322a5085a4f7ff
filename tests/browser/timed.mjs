// Times a function of the package sweepbook-timed on a file, in a worker of Chromium as the page's reader is:
//     node timed.mjs FOLDER FILE FUNCTION EXPECTED RUNS
// prints the seconds of the fastest run.
import { createReadStream } from 'node:fs';
import { createServer } from 'node:http';
import { extname, join } from 'node:path';
import { launch } from './harness.mjs';

const [folder, file, what, expected, runs] = process.argv.slice(2);
const WORKER = `
  import init, * as timed from './timed.js';
  self.addEventListener('message', ({ data }) => run(data).catch((error) => self.postMessage({ wrong: String(error.stack) })));
  async function run({ what, runs, expected }) {
    await init({ module_or_path: new URL('./timed_bg.wasm', import.meta.url) });
    const bytes = new Uint8Array(await (await fetch('./file')).arrayBuffer());
    let best = Infinity;
    for (let i = 0; i < runs; i++) {
      const start = performance.now();
      const gave = timed[what](bytes);
      best = Math.min(best, performance.now() - start);
      if (gave !== expected) { self.postMessage({ wrong: String(gave) }); return; }
    }
    self.postMessage({ best });
  }`;
const TYPES = { '.js': 'text/javascript', '.wasm': 'application/wasm' };

const server = createServer((request, response) => {
  const name = new URL(request.url, 'http://x').pathname.slice(1);
  response.setHeader('Content-Type', TYPES[extname(name)] ?? 'text/html');
  if (name === 'worker.js') response.end(WORKER);
  else if (name === 'file') createReadStream(file).pipe(response);
  else if (['timed.js', 'timed_bg.wasm'].includes(name)) createReadStream(join(folder, name)).pipe(response);
  else response.end('<!doctype html><title>timed</title>');
});
await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
const browser = await launch();
try {
  const page = await browser.newPage();
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const { best, wrong } = await page.evaluate((asked) => new Promise((resolve) => {
    const worker = new Worker('./worker.js', { type: 'module' });
    worker.onmessage = ({ data }) => resolve(data);
    worker.onerror = (event) => resolve({ wrong: event.message });
    worker.postMessage(asked);
  }), { what, runs: Number(runs), expected: Number(expected) });
  if (wrong !== undefined) throw new Error(`${what} gave ${wrong}, not ${expected}`);
  console.log(best / 1000);
} finally {
  await browser.close();
  server.closeAllConnections();
  server.close();
}
