// Sums of the bench: plain forms beside what comes out, with formula, source, limits and cautions.
import { $, announce, h, s } from '../dom.js';
import { sums_answer, sums_forms } from '../engine.js';
import { local } from '../local.js';
import { valueOf } from './pairs.js';

const FORMS = JSON.parse(sums_forms());
const CURVE = { width: 640, height: 240, left: 84, right: 16, top: 14, bottom: 34 };

export class SumsView {
  #form = FORMS[0];

  constructor() {
    $('sums-which').replaceChildren(...FORMS.map(({ sum, title }) => h('option', { value: sum }, title)));
    $('sums-which').addEventListener('change', () => { location.hash = `#sums?sum=${$('sums-which').value}`; });
    $('sums-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#work();
    });
  }

  /** Opens the sum that an address names, else the first. */
  open(pairs) {
    this.#form = FORMS.find(({ sum }) => sum === valueOf(pairs, 'sum')) ?? FORMS[0];
    $('sums-which').value = this.#form.sum;
    $('sums-says').textContent = this.#form.says;
    $('sums-fields').replaceChildren(...this.#form.fields.map(field));
    $('sums-result').replaceChildren();
    this.#bad(null);
  }

  #bad(text) {
    $('sums-bad').textContent = text ?? '';
    $('sums-bad').hidden = !text;
  }

  #work() {
    const given = Object.fromEntries([...new FormData($('sums-form'))].filter(([, text]) => text.trim()));
    const said = local(JSON.parse(sums_answer(this.#form.sum, JSON.stringify(given))));
    if (said.wrong) {
      const { field: name, what, mend } = said.wrong;
      const label = this.#form.fields.find((one) => one.name === name)?.label;
      this.#bad(`${label ? `${label}: ` : ''}${what}. ${mend}`);
      const input = $('sums-form').elements.namedItem(name);
      input?.focus();
      return;
    }
    this.#bad(null);
    $('sums-result').replaceChildren(...[
      h('table', { class: 'sums-figures' }, h('caption', { class: 'unseen' }, this.#form.title), h('tbody', {}, said.figures.map(({ name, value, says }) => h('tr', {},
        h('th', { scope: 'row' }, name), h('td', { class: 'digits' }, value), h('td', { class: 'soft' }, says))))),
      said.curve && curve(said.curve),
      h('p', {}, h('b', {}, 'How: '), said.formula),
      h('p', {}, h('b', {}, 'From: '), said.source),
      h('p', {}, h('b', {}, 'Left out: '), said.leaves_out),
      h('div', { class: 'cautions' }, said.cautions.map((caution) => h('p', {}, caution))),
    ].filter(Boolean));
    $('sums-result').focus();
    announce('Worked out');
  }
}

function field({ name, label, unit, placeholder, default: usual, needed, choices, says }) {
  const id = `sum-${name}`;
  const hint = says ? `${id}-says` : undefined;
  const input = choices.length
    ? h('select', { id, name }, choices.map((choice) => h('option', {}, choice)))
    : h('input', { id, name, value: usual || undefined, placeholder: placeholder ? `${placeholder}` : undefined, autocomplete: 'off', spellcheck: 'false', required: needed, 'aria-describedby': hint });
  return h('div', { class: 'sums-field' },
    h('label', { class: 'line', for: id }, `${label}${unit && unit !== '%' ? '' : unit && ', %'}${needed || usual || choices.length ? '' : ' (if any)'}`),
    input, says && h('p', { id: hint, class: 'soft' }, says));
}

/** A line with the ends of both axes. */
function curve({ x, y, points }) {
  const { width, height, left, right, top, bottom } = CURVE;
  const span = ({ low, high }) => (high > low ? high - low : 1);
  const at = ([a, b]) => [
    left + ((a - x.ends.low) / span(x.ends)) * (width - left - right),
    height - bottom - ((b - y.ends.low) / span(y.ends)) * (height - top - bottom),
  ].map((v) => v.toFixed(1)).join(' ');
  const says = `${y.name} against ${x.name}: ${y.ends.from} to ${y.ends.to}, from ${x.ends.from} to ${x.ends.to}`;
  return s('svg', { viewBox: `0 0 ${width} ${height}`, role: 'img', 'aria-label': says, class: 'sums-curve' },
    s('path', { class: 'frame', d: `M${left} ${top}V${height - bottom}H${width - right}` }),
    s('path', { class: 'line-of', d: `M${points.map(at).join('L')}` }),
    s('text', { x: left - 6, y: top + 5, class: 'end' }, y.ends.to),
    s('text', { x: left - 6, y: height - bottom, class: 'end' }, y.ends.from),
    s('text', { x: left, y: height - 8 }, x.ends.from),
    s('text', { x: width - right, y: height - 8, class: 'end' }, x.ends.to),
    s('text', { x: (left + width - right) / 2, y: height - 8, class: 'middle' }, x.name),
    s('text', { x: left + 8, y: top + 5 }, y.name));
}
