// What the built page weighs: bytes as they are and as gzip -9 sends them, file by file, by kind.
//
//   node tests/browser/weight.mjs [FOLDER] [--files]
//
// FOLDER as `sweepbook page FOLDER` writes it (target/page-under-test unless given). The first
// total is what a visit with text files takes: without the program for spreadsheets, which is
// fetched only for one, and without the samples. --files lists every file, the heaviest first.
import { readFileSync, readdirSync } from 'node:fs';
import { join, relative } from 'node:path';
import { gzipSync } from 'node:zlib';

const KINDS = [
  ['samples', /^samples\//],
  ['program for spreadsheets', /sweepbook_sheets_page/],
  ['program', /\.wasm$/],
  ['its glue', /sweepbook_page\.js$/],
  ['scripts of others', /\/vendor\//],
  ['scripts', /\.js$/],
  ['styles', /\.css$/],
  ['documents', /\.html$/],
  ['other', /./],
];
const LATER = ['samples', 'program for spreadsheets'];

const given = process.argv.slice(2);
const folder = given.find((word) => !word.startsWith('--')) ?? 'target/page-under-test';
const files = readdirSync(folder, { recursive: true, withFileTypes: true })
  .filter((entry) => entry.isFile())
  .map((entry) => {
    const path = join(entry.parentPath ?? entry.path, entry.name);
    const bytes = readFileSync(path);
    const name = relative(folder, path);
    const [kind] = KINDS.find(([, holds]) => holds.test(name));
    return { name, kind, raw: bytes.length, gzip: gzipSync(bytes, { level: 9 }).length };
  });

const line = (name, raw, gzip) => console.log(`${name.padEnd(28)}${String(raw).padStart(10)}${String(gzip).padStart(10)}`);
const sum = (some) => [some.reduce((all, f) => all + f.raw, 0), some.reduce((all, f) => all + f.gzip, 0)];
line('', 'bytes', 'gzip -9');
for (const [kind] of KINDS) line(kind, ...sum(files.filter((f) => f.kind === kind)));
line('a visit', ...sum(files.filter((f) => !LATER.includes(f.kind))));
line('all', ...sum(files));
if (given.includes('--files')) {
  console.log();
  for (const f of files.toSorted((a, b) => b.gzip - a.gzip)) console.log(`${f.gzip}\t${f.raw}\t${f.name}`);
}
