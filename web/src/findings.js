// What was found, a card each.
import { h } from './dom.js';
import { markShape, sectionShape } from './shapes.js';

// Parts of an explanation that are shown at once; the rest unfolds.
const WHAT = 'What it is';
const STAGE = 'In a stage';
const STAGE_TITLE = 'What it means in a stage';
const SOURCES = 'Sources';

/** The cards of a sheet; `onmark(finding | null)` when one is chosen. */
export function findingCards(sheet, onmark) {
  if (sheet.findings.length === 0) return [nothingFound()];
  const cards = [];
  let chosen = null;
  const choose = (place) => {
    chosen = place;
    cards.forEach((card, i) => card.classList.toggle('chosen', i === place));
    cards.forEach((card, i) => card.querySelector('.mark')?.setAttribute('aria-pressed', String(i === place)));
    onmark(place === null ? null : sheet.findings[place]);
  };
  sheet.findings.forEach((finding, place) => {
    const card = findingCard(finding, place, () => {
      choose(chosen === place ? null : place);
      if (chosen === place) showFigure();
    });
    // Focus by keyboard anywhere in a card marks its points; by pointer, its
    // button comes first and does so itself.
    card.addEventListener('focusin', (event) => {
      if (chosen !== place && event.target.matches(':focus-visible')) choose(place);
    });
    card.addEventListener('click', (event) => {
      if (chosen !== place && !event.target.closest('.mark')) choose(place);
    });
    cards.push(card);
  });
  choose(0);
  return cards;
}

/** Brings the figure into view where the cards stand below it. */
function showFigure() {
  const plot = document.getElementById('plot');
  const { top, bottom } = plot.getBoundingClientRect();
  if (bottom < 80 || top > innerHeight - 80) plot.scrollIntoView({ block: 'center' });
}

function nothingFound() {
  return h('div', { class: 'card quiet-card' },
    h('h4', {}, 'No fault found'),
    h('p', {}, 'Nothing in this sweep points to a fault. That is less than a sound tube: what the sweep could not have shown is listed below.'));
}

function findingCard(finding, place, onmark) {
  const part = (heading) => finding.parts.find((p) => p.heading === heading)?.paragraphs ?? [];
  const more = finding.parts.filter((p) => ![WHAT, STAGE, SOURCES].includes(p.heading));
  const id = `finding-${place}`;
  return h('article', { class: finding.likely ? 'card finding' : 'card finding unlikely', 'aria-labelledby': id, tabindex: '-1' },
    h('header', {},
      h('h4', { id }, finding.title),
      h('p', { class: 'where' }, where(finding))),
    h('p', { class: 'sure' }, h('b', {}, finding.sure), ` · ${finding.percent}`, meter(finding)),
    value(finding.value),
    part(WHAT).map((text) => h('p', {}, text)),
    h('h5', {}, 'What it rests on'),
    h('p', {}, finding.evidence),
    finding.marked > 0 && h('button', { type: 'button', class: 'mark', 'aria-pressed': 'false', onclick: onmark },
      markShape(), `Mark the ${finding.marked === 1 ? 'point' : `${finding.marked} points`} in the figure`),
    finding.alternatives.length > 0 && [
      h('h5', {}, 'What else it might be'),
      h('ul', { class: 'others' }, finding.alternatives.map((other) => h('li', {}, other.title, h('span', { class: 'soft' }, ` ${other.sure} · ${other.percent}`)))),
    ],
    h('h5', {}, 'What to measure next'),
    h('p', {}, finding.confirm),
    h('p', { class: 'caution' }, h('a', { href: '#safety' }, 'Plate supplies kill: work safely')),
    part(STAGE).length > 0 && [h('h5', {}, STAGE_TITLE), part(STAGE).map((text) => h('p', {}, text))],
    more.length > 0 && h('details', {},
      h('summary', {}, 'More on this fault'),
      more.map(({ heading, paragraphs }) => [h('h5', {}, heading), paragraphs.map((text) => h('p', {}, text))])),
    part(SOURCES).length > 0 && h('div', { class: 'sources' }, h('h5', {}, SOURCES), part(SOURCES).map((text) => h('p', {}, text))));
}

function where({ section, section_index: index, bench }) {
  if (section !== null) return [index === null ? null : sectionShape(index), ` Section ${section}`];
  return bench ? 'The bench, not the tube' : 'The whole tube';
}

function value(of) {
  if (!of) return null;
  return h('p', { class: 'value' },
    h('span', { class: 'quantity' }, of.quantity),
    h('strong', {}, of.value),
    of.interval && h('span', { class: 'interval' }, `${of.interval} (95 % interval)`));
}

/** How sure, as a bar; the words and the number beside it say the same. */
function meter({ percent, likely }) {
  const share = Number.parseFloat(percent.replace(/[^\d.]/g, '')) || 0;
  const bar = h('span', { class: likely ? 'bar' : 'bar low', 'aria-hidden': 'true' }, h('span', {}));
  bar.firstChild.style.setProperty('inline-size', `${Math.min(100, share)}%`);
  return bar;
}
