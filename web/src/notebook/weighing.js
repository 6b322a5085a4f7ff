// What was seen beside the sweep, in the findings: how it moved each confidence, and what
// would settle an open question.
import { $, h, sentence } from '../dom.js';
import { asked } from '../engine.js';

/** Writes it into the cards that are there; `onask(between)` to have a measurement written down. */
export function showWeighing(entry, weighed, onask) {
  const said = weighed ?? JSON.parse(asked(entry.report) ?? 'null');
  for (const old of document.querySelectorAll('#findings .beside')) old.remove();
  $('own-standing').hidden = !said?.says;
  $('own-standing').textContent = said?.says ?? '';
  $('own-standing').classList.toggle('asks', Boolean(said?.reconsider));
  if (!said) return;
  const cards = [...document.querySelectorAll('#findings .finding')];
  cards.forEach((card, place) => {
    const moved = said.moved.filter(({ finding }) => finding === place);
    const asks = said.asks.filter(({ finding }) => finding === place);
    if (moved.length === 0 && asks.length === 0) return;
    // Before what unfolds: it is part of what is known.
    card.insertBefore(h('div', { class: 'beside' },
      moved.length > 0 && [h('h5', {}, 'With what else was seen'), h('ul', { class: 'others' }, moved.map(line))],
      asks.map(({ words, says, between }) => [h('h5', {}, 'What would settle it'), h('p', {}, `${words} ${says}`),
        h('button', { type: 'button', class: 'small', onclick: () => onask(between) }, 'Write down what it shows…')])),
    card.querySelector('.caution')?.nextSibling ?? null);
  });
  const others = said.moved.filter(({ finding }) => finding === null);
  if (others.length) {
    $('findings').append(h('div', { class: 'card quiet-card beside' },
      h('h4', {}, 'Not found in the sweep'),
      h('p', {}, 'What was seen beside it speaks of these:'),
      h('ul', { class: 'others' }, others.map(line))));
  }
}

function line({ title, section, from, to, sure, steps }) {
  return h('li', {},
    h('b', {}, title), section !== null && ` in section ${section}`, `: ${from} → `, h('b', {}, to), `, ${sure}`,
    h('ul', {}, steps.map((step) => h('li', { class: 'soft' }, `${sentence(step.words).replace(/\.$/, '')}: ${step.times}, to ${step.to}`))));
}
