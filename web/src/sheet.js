// The sheet of the chosen tube.
import { $, count, h } from './dom.js';
import { verdictOf } from './engine.js';
import { findingCards } from './findings.js';
import { sectionShape, verdictShape } from './shapes.js';

/** Fills the sheet. */
export function showSheet(entry, figure) {
  const { sheet, sample } = entry;
  const { word, meaning } = verdictOf(sheet.verdict);
  $('tube-title').textContent = sheet.tube || 'unnamed';
  $('tube-kind').textContent = sheet.kind ?? 'type not given';
  const from = sheet.source.join(', ');
  $('tube-source').textContent = `${from}${sample ? ' (sample, invented)' : ''} · ${count(sheet.points, 'point')}`;

  // A table of a spreadsheet or an archive is not named by hand here, nor are several files at a time.
  $('by-hand').hidden = Boolean(entry.items) || !sheet.source.includes(entry.item.name);
  $('take-apart').hidden = !entry.items;
  const said = entry.item.said.map((answer) => `${answer.says} (${answer.option})`);
  $('said').hidden = said.length === 0 || Boolean(entry.items);
  $('said-words').textContent = said.length ? `Read as you answered: ${said.join('; ')}.` : '';

  const stamp = $('stamp');
  stamp.className = `stamp ${sheet.verdict}`;
  stamp.replaceChildren(verdictShape(sheet.verdict, 30), h('span', { class: 'stamp-word' }, word));
  $('verdict-meaning').textContent = meaning;
  $('reasons').replaceChildren(...sheet.reasons.filter((reason) => reason !== meaning).map((reason) => h('li', {}, reason)));

  figure.show(entry);
  $('findings').replaceChildren(...findingCards(sheet, (finding) => figure.mark(finding)));
  $('findings-count').textContent = sheet.findings.length ? String(sheet.findings.length) : '';

  $('section-figures').hidden = !sheet.figures;
  $('figures-table').replaceChildren(...(sheet.figures ? figuresTable(sheet.figures) : []));
  $('second').hidden = sheet.second.length === 0;
  $('second-list').replaceChildren(...sheet.second.map(secondRow));
  $('blind').hidden = sheet.blind.length === 0;
  $('blind-list').replaceChildren(...sheet.blind.map(blindItem));
  $('limits').hidden = sheet.limits.length === 0;
  $('limits-list').replaceChildren(...sheet.limits.map(({ title, quantity, size }) => h('tr', {},
    h('th', { scope: 'row' }, title), h('td', {}, h('b', {}, size), h('span', { class: 'at' }, quantity)))));
  $('notes').hidden = sheet.notes.length === 0;
  $('notes-list').replaceChildren(...sheet.notes.map((note) => h('li', {}, note)));
}

function figuresTable({ sections, rows }) {
  const head = ({ section, at }, place) => h('th', { scope: 'col' },
    sectionShape(place), ` Section ${section}`, at && h('span', { class: 'at' }, `at ${at}`));
  const cell = (figure) => figure === null
    ? h('td', { class: 'soft' }, 'not measurable')
    : h('td', {}, h('b', {}, figure.value), h('span', { class: 'interval' }, figure.interval), figure.at && h('span', { class: 'at' }, `at ${figure.at}`));
  return [
    h('thead', {}, h('tr', {}, h('td', {}), sections.map(head))),
    h('tbody', {}, rows.map(({ symbol, name, cells }) => h('tr', {},
      h('th', { scope: 'row' }, symbol, h('span', { class: 'at' }, name)), cells.map(cell)))),
  ];
}

function secondRow({ section, rules, like, percent, agreement }) {
  return h('tr', {},
    h('th', { scope: 'row' }, section), h('td', {}, rules),
    h('td', {}, h('b', {}, percent ? `${like}, ${percent}` : like), h('span', { class: 'at' }, agreement)));
}

function blindItem({ title, why, smallest, measure }) {
  return h('li', {},
    h('b', {}, title), h('span', {}, ` ${why}`),
    smallest && h('span', { class: 'smallest' }, `Would have shown: ${smallest}`),
    h('span', { class: 'measure' }, `To see it: ${measure}`));
}
