// What the browser tests share: a server, a browser, and a watch over both.
import assert from 'node:assert/strict';
import { createReadStream, existsSync, statSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { after, before, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import { chromium } from 'playwright-core';

const here = fileURLToPath(new URL('.', import.meta.url));

/** The built page; `sweepbook` or `sweepbook page DIR` makes it. */
export const DIST = process.env.SWEEPBOOK_PAGE ?? join(here, '../../web/dist');
/** The terminal program of the same build. */
export const PROGRAM = process.env.SWEEPBOOK_PROGRAM ?? join(here, '../../target/release/sweepbook');
/** Two tubes of the outside corpus: a sound one, and one with 661 kΩ from plate to cathode in section 1. */
const CORPUS = process.env.SWEEPBOOK_CORPUS ?? join(here, '../corpus');
export const SOUND = process.env.SWEEPBOOK_SOUND ?? join(CORPUS, '000.csv');
export const LEAKY = process.env.SWEEPBOOK_LEAKY ?? join(CORPUS, '009.csv');

const TYPES = {
  '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.wasm': 'application/wasm',
  '.svg': 'image/svg+xml', '.csv': 'text/csv', '.json': 'application/json', '.webmanifest': 'application/manifest+json',
};

/** Serves the built page on a free port of this machine only; `change(path, text)` may alter a text. */
export async function serve({ port = 0, change } = {}) {
  const server = createServer(async (request, response) => {
    const path = normalize(decodeURIComponent(new URL(request.url, 'http://x').pathname));
    const file = join(DIST, path.endsWith('/') ? `${path}index.html` : path);
    if (!file.startsWith(DIST) || !existsSync(file) || !statSync(file).isFile()) {
      response.writeHead(404).end();
      return;
    }
    response.setHeader('Content-Type', TYPES[extname(file)] ?? 'application/octet-stream');
    response.setHeader('Cache-Control', 'no-cache');
    const changed = change?.(path, await readFile(file, 'utf8'));
    if (changed !== undefined) response.end(changed);
    else createReadStream(file).pipe(response);
  });
  await new Promise((resolve) => server.listen(port, '127.0.0.1', resolve));
  return {
    url: `http://127.0.0.1:${server.address().port}/`,
    port: server.address().port,
    stop() {
      server.closeAllConnections();
      return new Promise((resolve) => server.close(resolve));
    },
  };
}

/** Debian's Chromium, with nothing that would go out to the network by itself. */
export function launch() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--headless', '--no-sandbox', '--disable-gpu', '--no-first-run',
      '--disable-background-networking', '--disable-component-update', '--disable-sync',
    ],
  });
}

/**
 * A page in a profile of its own, with a list of everything that must not
 * happen: console errors, uncaught errors, requests to another origin.
 */
export async function open(browser, base, { path = '', allow = [], ...options } = {}) {
  const context = await browser.newContext({ viewport: { width: 1366, height: 768 }, ...options });
  const page = await context.newPage();
  const wrong = [];
  const origin = new URL(base).origin;
  const note = (text) => { if (!allow.some((pattern) => pattern.test(text))) wrong.push(text); };
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) note(`console ${message.type()}: ${message.text()}`);
  });
  page.on('pageerror', (error) => note(`uncaught: ${error.message}`));
  context.on('request', (request) => {
    const url = new URL(request.url());
    // A page from a file has none but itself.
    const other = url.protocol === 'file:' ? !request.isNavigationRequest() : url.origin !== origin;
    if (other && !['data:', 'blob:'].includes(url.protocol)) note(`request to ${url.protocol === 'file:' ? url.href : url.origin}`);
  });
  await page.goto(new URL(path, base).href);
  await page.waitForSelector('body.ready');
  return { page, context, wrong };
}

/**
 * A browser and the page's address for the tests of a file, there once they run, and `onPage`:
 * a test on a fresh page, on which nothing wrong may have happened by its end.
 */
export function setUp() {
  let server;
  const at = {};
  before(async () => {
    at.browser = await launch();
    if (!process.env.SWEEPBOOK_URL) server = await serve();
    at.base = process.env.SWEEPBOOK_URL ?? server.url;
  });
  after(async () => {
    await at.browser?.close();
    await server?.stop();
  });
  at.onPage = (name, options, work) => test(name, async () => {
    const { page, context, wrong } = await open(at.browser, at.base, options);
    try {
      await work(page, context);
      assert.deepEqual(wrong, []);
    } finally {
      await context.close();
    }
  });
  return at;
}

/** Drops files on the page as a hand would: `[{name, text | bytes | size}]`, a size of nothing but zeros. */
export async function drop(page, files) {
  const plain = files.map(({ name, text, bytes, size }) => ({ name, text, bytes: bytes && [...bytes], size }));
  const transfer = await page.evaluateHandle((list) => {
    const data = new DataTransfer();
    for (const { name, text, bytes, size } of list) data.items.add(new File([bytes || size ? new Uint8Array(bytes ?? size) : text], name));
    return data;
  }, plain);
  for (const type of ['dragenter', 'dragover', 'drop']) {
    await page.dispatchEvent('body', type, { dataTransfer: transfer });
  }
}

/** Reads files of this machine for [`drop`]. */
export async function fromDisk(...paths) {
  return Promise.all(paths.map(async (path) => ({ name: path.split('/').pop(), text: await readFile(path, 'utf8') })));
}

/** Waits until nothing is being read and the list has this many tubes. */
export async function settled(page, tubes) {
  await page.waitForFunction((n) => document.getElementById('progress').hidden
    && document.querySelectorAll('#tubes [role=option]').length === n, tubes);
}

/** Presses a key until something has the focus; the focus must really move. */
export async function pressUntil(page, key, selector, most = 80) {
  for (let i = 0; i < most; i++) {
    await page.keyboard.press(key);
    if (await page.evaluate((s) => Boolean(document.activeElement?.closest(s)), selector)) return i + 1;
  }
  throw new Error(`${most} times ${key} did not reach ${selector}`);
}

/** Nothing at all may be found by axe in this state of the page, of whatever weight. */
export async function accessible(page, state) {
  const { violations } = await new AxeBuilder({ page }).analyze();
  const found = violations.map((v) => `${state}: ${v.id} (${v.impact}): ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`);
  assert.deepEqual(found, []);
}
