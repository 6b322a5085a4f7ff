// Wires the parts of the page together.
import { $, announce, count, save } from './dom.js';
import { report } from './engine.js';
import { FigureView } from './figure.js';
import { Lot } from './lot.js';
import { offline } from './offline.js';
import { sampleFiles, sampleLot, ways } from './open.js';
import { Reader } from './reader.js';
import { showSheet } from './sheet.js';
import { Unread } from './unread.js';

const figure = new FigureView();
const unread = new Unread();
const lot = new Lot({
  choose(entry) {
    $('sheet').hidden = false;
    showSheet(entry, figure);
    showNeighbours();
  },
  render: showNeighbours,
});
const reader = new Reader({ answer: heard, progress });

ways((items, sample) => {
  // Own sweeps take the place of the sample lot.
  if (!sample && lot.entries.length > 0 && lot.entries.every((entry) => entry.sample)) closeLot();
  reader.add(items.map((item) => ({ ...item, sample })));
});

function heard({ tubes, again = [], unread: not }, { sample, life }) {
  for (const { id, sheet, tube, report: text } of tubes) lot.add({ id: `${life}/${id}`, sheet, tube, report: text, sample });
  // Another sweep of a tube that is here already: both are judged together.
  for (const { id, sheet, tube, report: text } of again) lot.replace(`${life}/${id}`, { sheet, tube, report: text });
  unread.add(not);
  showState();
}

function progress({ done, all, name }) {
  $('progress').hidden = name === null;
  if (name !== null) {
    $('progress-text').textContent = `Reading ${done + 1} of ${all}: ${name}`;
    $('progress-bar').max = all;
    $('progress-bar').value = done;
  } else if (all > 0) {
    const not = unread.items.length ? `; ${count(unread.items.length, 'file')} could not be read` : '';
    announce(lot.entries.length ? `${lot.summary()}${not}` : `No tube was read${not}`);
  }
}

/** The empty state, or the lot; the focus never stays on what vanished. */
function showState() {
  const empty = lot.entries.length === 0 && unread.items.length === 0;
  const lost = document.activeElement?.closest('#empty') && !empty;
  $('empty').hidden = !empty;
  $('lot').hidden = empty;
  $('sheet').hidden = lot.entries.length === 0;
  document.body.classList.toggle('working', !empty);
  if (lost) $('lot-title').focus();
}

function closeLot() {
  reader.forget();
  lot.clear();
  unread.clear();
  showState();
}

$('stop').addEventListener('click', () => {
  const left = reader.stop();
  announce(`Stopped; ${count(left, 'file')} not read`);
  $('lot-title').focus();
});

$('save-report').addEventListener('click', () => {
  const tubes = `[${lot.entries.map((entry) => entry.report).join(',')}]`;
  save('sweepbook-report.json', 'application/json', report(tubes, JSON.stringify(unread.items)));
});

$('close-lot').addEventListener('click', () => $('close').showModal());
$('close-cancel').addEventListener('click', () => $('close').close());
$('close-form').addEventListener('submit', (event) => {
  event.preventDefault();
  $('close').close();
  reader.stop();
  closeLot();
  $('page-title').focus();
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
  if (files.length) reader.add(files.map((item) => ({ ...item, sample: true })));
}

showState();
document.body.classList.add('ready');
if (new URLSearchParams(location.search).get('open') === 'samples') openSamples();
offline();
