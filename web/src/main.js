// Wires the parts of the page together.
import { BatchView } from './batch.js';
import { Benches } from './benches.js';
import { CompareView } from './compare.js';
import { $, announce, count, save } from './dom.js';
import { report } from './engine.js';
import { FigureView } from './figure.js';
import { local } from './local.js';
import { Lot } from './lot.js';
import { ColumnMap } from './map.js';
import { MatchView } from './match.js';
import { MatesView } from './mates.js';
import { Bar } from './notebook/bar.js';
import { Desk } from './notebook/desk.js';
import { Many } from './notebook/many.js';
import { Notebook } from './notebook/notebook.js';
import { Shelf } from './notebook/shelf.js';
import { offline } from './offline.js';
import { ways } from './open.js';
import { PaperView } from './paper.js';
import { PiecesView } from './pieces.js';
import { Questions } from './questions.js';
import { Reader } from './reader.js';
import { sampleFiles, sampleLot } from './samples.js';
import { showSheet } from './sheet.js';
import { StageView } from './stage.js';
import { Unread } from './unread.js';

const figure = new FigureView();
const mates = new MatesView({
  choose(entry) {
    lot.choose(entry);
    announce(`Tube ${entry.sheet.tube}`);
  },
});
const unread = new Unread((item) => columns.open(item));
const lot = new Lot({
  choose(entry) {
    $('sheet').hidden = lot.tabled;
    showSheet(entry, figure);
    desk.show(entry, shelf.tubeOf(entry));
    mates.show(entry);
    showNeighbours();
  },
  render() {
    showNeighbours();
    batch.show();
  },
  ticked(those) {
    many.ticked(those);
    compare.ticked(those);
  },
  view: showState,
});
const batch = new BatchView(() => lot.entries);
const reader = new Reader({
  answer: heard,
  progress,
  compared,
  pieces: (those) => pieces.offer(those, (one) => shelf.isJoined(one)),
  joined,
  left: ({ again }, life) => judged(again, life),
  instead: (item) => (item.instead.length ? tubesOf(item) : []),
  stale: (item) => readAgain([item]),
});
const pieces = new PiecesView({
  join: (ids) => reader.join(ids),
  done: () => $(lot.chosen ? 'tube-title' : 'lot-title').focus(),
});
new MatchView(() => ({ all: lot.entries, ticked: lot.ticked }), {
  match: (ids, wanted) => reader.ask('matched', ids, wanted),
  overlay: (members, size) => reader.ask('overlay', members, size),
  choose: (entry) => lot.open(entry),
});
new StageView(() => ({ all: lot.entries, ticked: lot.ticked }), (ids, form) => reader.ask('staged', ids, form));
const compare = new CompareView({
  overlay: (members, size) => reader.ask('overlay', members, size),
  differences: (members, size) => reader.ask('differences', members, size),
});
new PaperView(() => ({ all: lot.entries, chosen: lot.chosen, ticked: lot.ticked }), {
  write: (ids, said) => reader.ask('paper', ids, said),
  lot(entry) {
    const lot = shelf.tubeOf(entry)?.lot?.value;
    return notebook.shown?.lots.find(({ id }) => id === lot) ?? null;
  },
});
const benches = new Benches((bench) => {
  reader.bench = bench;
  judgeAgain();
});
const columns = new ColumnMap((item, options) => {
  const said = options.map((option) => ({ option, says: 'columns named by hand' }));
  reader.add([{ ...item, said, instead: tubesOf(item), partly: false, wanted: true }], true);
});
const questions = new Questions({
  answer(those) {
    reader.add(those.map(({ item, choice: { option, says } }) => ({ ...item, said: [...item.said, { option, says }] })), true);
  },
  leave(item) {
    showState();
    const kept = item.instead.length && !item.partly;
    if (kept && lot.chosen) $('tube-title').focus();
    else if (!questions.focus()) $(lot.entries.length ? 'lot-title' : 'page-title').focus();
    announce(kept ? `${item.name} stays as it is` : `${item.name} was left out`);
  },
});

ways((items, sample) => {
  // Own sweeps take the place of the sample lot.
  if (!sample && !notebook.id && lot.entries.length > 0 && lot.entries.every((entry) => entry.sample)) closeLot();
  read(items, sample);
});

/** What was read of a tube, under its number on the page. */
const numbered = (read, life) => ({ ...read, sheet: local(read.sheet), row: local(read.row), id: `${life}/${read.id}` });

/** The files that a tube was read from: several, where it was put together. */
const itemsOf = (entry) => entry.items ?? [entry.item];

/** The numbers of the tubes that were read from an item. */
function tubesOf({ key }) {
  return lot.entries.filter((entry) => itemsOf(entry).some((item) => item.key === key)).map((entry) => entry.id);
}

/** Reads every file of the lot again as it was read before, on the bench of the lot. */
function judgeAgain() {
  readAgain(lot.entries.flatMap(itemsOf).map(({ bench, ...item }) => item));
}

function readAgain(those) {
  const items = new Map(those.map((item) => [item.key, item]));
  reader.add([...items.values()].map((item) => ({ ...item, instead: tubesOf(item), partly: questions.partly(item.key), wanted: false })));
}

let serial = 0;

/** Reads files: the page keeps each of them, to read it again as its user says. */
function read(items, sample) {
  reader.add(items.map((item) => ({ ...item, sample, key: ++serial, said: [], instead: [] })));
}

function heard({ tubes, again = [], unread: not, questions: asked = [], tables = 1 }, item) {
  const { key, sample, life } = item;
  // Whoever answered goes on with what came of it; nobody else is led away.
  const here = questions.holds(key);
  const entries = tubes.map((read) => ({ ...numbered(read, life), sample, item }));
  if (asked.length === 0) questions.settle(key);
  // Of a file of several tables some may be read while one still asks: the answer has all of them read again.
  const read = entries.length ? entries.map(({ id }) => id) : item.instead;
  const partly = asked.length > 0 && (item.partly || !item.instead.length) && read.length > 0;
  for (const question of asked) questions.add({ ...question, tables }, { ...item, instead: read, partly });
  if (item.instead.length && entries.length) lot.exchange(item.instead, entries);
  else for (const entry of entries) lot.add(entry);
  // Another sweep of a tube that is here already: both are judged together.
  judged(again, life);
  shelf.heard(item, entries);
  unread.of(item, not);
  showState();
  if (asked.length && (here || item.wanted || document.activeElement === document.body)) questions.focus(key);
  else if (here && !questions.focus()) {
    lot.choose(entries[0]);
    $(entries.length ? 'tube-title' : 'lot-title').focus();
  }
}

/** Pieces of a tube were put together. */
function joined({ tubes, again }, ids, life) {
  if (!tubes.length) return;
  const those = lot.entries.filter((entry) => ids.includes(entry.id));
  const items = [...new Set(those.flatMap(itemsOf))];
  const { sample, item } = those[0];
  const entries = tubes.map((read) => ({ ...numbered(read, life), sample, item, items }));
  lot.exchange(ids, entries);
  judged(again, life);
  shelf.joined(items, those, entries);
  showState();
  compareLot();
}

function judged(again, life) {
  for (const read of again) lot.replace(`${life}/${read.id}`, numbered(read, life));
  if (again.length) shelf.keepSoon();
}

function progress({ done, all, name }) {
  $('progress').hidden = name === null;
  if (name !== null) {
    $('progress-text').textContent = `Reading ${done + 1} of ${all}: ${name}`;
    $('progress-bar').max = all;
    $('progress-bar').value = done;
  } else if (all > 0) {
    compareLot();
    reader.pieces();
    const not = (unread.items.length ? `; ${count(unread.items.length, 'file')} could not be read` : '') + (questions.any ? `; ${questions.words}` : '');
    announce(lot.entries.length ? `${lot.summary()}${not}` : `No tube was read${not}`);
  }
}

let comparing = { of: 0, entries: [] };

/** Has the tubes of the lot compared with each other. */
function compareLot() {
  comparing = { of: comparing.of + 1, entries: [...lot.entries] };
  reader.compare(comparing.entries.map((entry) => entry.member), comparing.of);
}

function compared(comparison, of) {
  // Of a lot that has changed since there will be another.
  if (of === comparing.of) mates.compared(comparison, comparing.entries);
}

/** The empty state, or the lot; the focus never stays on what vanished. */
function showState() {
  const none = lot.entries.length === 0 && unread.items.length === 0;
  const empty = none && !questions.any;
  const lost = document.activeElement?.closest('#empty') && !empty;
  $('empty').hidden = !empty;
  $('lot').hidden = none;
  $('sheet').hidden = lot.entries.length === 0 || lot.tabled;
  document.body.classList.toggle('working', !empty);
  document.body.classList.toggle('tabling', lot.tabled);
  if (lost && !questions.focus()) $('lot-title').focus();
}

function closeLot() {
  reader.forget();
  lot.clear();
  mates.clear();
  comparing = { of: comparing.of + 1, entries: [] };
  unread.clear();
  questions.clear();
  pieces.clear();
  benches.leave();
  shelf.clear();
  showState();
}

// The notebook: what is read goes into it, and what it has is read.
const notebook = new Notebook({
  changed(shown) {
    shelf.changed(shown);
    showOwn();
    bar.state();
  },
  state: () => bar.state(),
  bytes: (hash) => shelf.bytes(hash),
});
const shelf = new Shelf(notebook, {
  entries: () => lot.entries,
  linked: showOwn,
  read(item) {
    const key = ++serial;
    reader.add([{ ...item, key, instead: [] }]);
    return key;
  },
  restore(those) {
    const files = those.map(({ item, tubes }) => ({ item: { ...item, key: ++serial, instead: [] }, tubes }));
    const ids = reader.restore(files.map(({ item, tubes }) => ({ item, judged: tubes.map(({ judged }) => judged) })));
    for (const [i, { item, tubes }] of files.entries()) {
      for (const [at, read] of tubes.entries()) lot.add({ ...read, id: ids[i][at], sample: item.sample, item });
    }
    showState();
    compareLot();
    reader.pieces();
    return files.map(({ item }) => item.key);
  },
  settled: ({ key }) => !unread.has(key) && !questions.asks(key),
  again(key, said, bench) {
    const item = lot.entries.flatMap(itemsOf).find((one) => one.key === key);
    if (item) reader.add([{ ...item, said, bench, instead: tubesOf(item), partly: false, wanted: false }], true);
  },
  remove(key) {
    const ids = tubesOf({ key });
    reader.leave(ids);
    lot.remove(ids);
    showState();
    compareLot();
  },
  missing(name) {
    const what = 'its bytes are not kept in this browser';
    const file = new File([], name);
    const key = ++serial;
    unread.of({ key, name, file }, [{ source: name, line: null, column: null, what, mend: 'Open a copy of the notebook that holds it.' }]);
    showState();
    return key;
  },
  found: (key) => unread.of({ key }, []),
});
const desk = new Desk(notebook, {
  async needed(entry) {
    if (!notebook.id) await begin(`Notebook of ${new Date().toLocaleDateString()}`);
    else if (!shelf.tubeOf(entry)) await shelf.takeIn();
    return shelf.tubeOf(entry);
  },
});
const many = new Many(notebook, {
  async needed(entries) {
    if (!notebook.id) await begin(`Notebook of ${new Date().toLocaleDateString()}`);
    else if (!entries.every((entry) => shelf.tubeOf(entry))) await shelf.takeIn();
    return entries.map((entry) => shelf.tubeOf(entry));
  },
});
const bar = new Bar(notebook, {
  create(name) {
    if (notebook.id) closeLot();
    return begin(name);
  },
  async open(id) {
    closeAll();
    if (await notebook.open(id)) announce(`${notebook.name} is open`);
  },
  close: closeAll,
  async copied({ id, changes, files }) {
    const same = notebook.id === id;
    if (!same) {
      closeAll();
      await notebook.open(id, true);
    }
    const { count: fresh, refused } = notebook.merge(changes, files);
    return refused ? `${refused.what}. ${refused.mend}` : `${notebook.name}: ${count(fresh, 'change')} taken in`;
  },
});

/** Begins a notebook with what is on the page. */
async function begin(name) {
  await notebook.create(name);
  await shelf.takeIn();
}

function closeAll() {
  reader.stop();
  notebook.close();
  closeLot();
}

/** Shows what the user says of the tubes. */
function showOwn() {
  for (const entry of lot.entries) entry.own = shelf.tubeOf(entry)?.decision?.value.decision ?? null;
  if (lot.chosen) desk.show(lot.chosen, shelf.tubeOf(lot.chosen));
  lot.later();
}

$('stop').addEventListener('click', () => {
  const left = reader.stop();
  questions.idle();
  announce(`Stopped; ${count(left, 'file')} not read`);
  $('lot-title').focus();
});

$('save-report').addEventListener('click', () => {
  const tubes = `[${lot.entries.map((entry) => entry.report).join(',')}]`;
  save('sweepbook-report.json', 'application/json', report(tubes, JSON.stringify([...unread.items, ...questions.refusals])));
});

$('close-lot').addEventListener('click', () => $('close').showModal());
$('close-cancel').addEventListener('click', () => $('close').close());
$('close-form').addEventListener('submit', (event) => {
  event.preventDefault();
  $('close').close();
  closeAll();
  $('page-title').focus();
});

$('by-hand').addEventListener('click', () => columns.open(lot.chosen.item));

$('take-apart').addEventListener('click', () => {
  pieces.part(lot.chosen.sheet.source);
  shelf.apart(lot.chosen);
  readAgain(lot.chosen.items);
});

$('read-differently').addEventListener('click', () => {
  const { item } = lot.chosen;
  if (questions.focus(item.key)) return;
  reader.add([{ ...item, said: [], before: item.said.map(({ option }) => option), instead: tubesOf(item), partly: false, wanted: true }], true);
});

for (const [id, by] of [['previous', -1], ['next', 1]]) {
  $(id).addEventListener('click', () => {
    lot.choose(lot.neighbour(by));
    announce(`Tube ${lot.chosen.sheet.tube}`);
  });
}

function showNeighbours() {
  $('previous').disabled = !lot.neighbour(-1);
  $('next').disabled = !lot.neighbour(1);
}

const samples = await sampleLot();
for (const button of document.querySelectorAll('[data-do=samples]')) {
  button.hidden = samples.length === 0;
  button.addEventListener('click', openSamples);
}

async function openSamples() {
  const files = await sampleFiles(samples);
  if (files.length) read(files, true);
}

showState();
await notebook.start();
document.body.classList.add('ready');
if (new URLSearchParams(location.search).get('open') === 'samples') openSamples();
offline();
