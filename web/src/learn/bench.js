// The lesson bench: everything can be moved, and the curves follow.
import { $, announce, h, save } from '../dom.js';
import { faultOptions } from './faults.js';
import { BenchFigure } from './figure.js';
import { fragment, illsOf, valueOf, withIlls, withValue } from './pairs.js';
import { Teller } from './teller.js';

/** Most faults at once. */
const MOST = 2;
const amps = (log) => 10 ** log;
const two = (v) => Number(v.toPrecision(2)).toLocaleString();
const inWords = (a) => (a < 9.95e-7 ? `${two(1e9 * a)} nA` : `${two(1e6 * a)} µA`);
const percent = (v) => `${Math.round(100 * v)} %`;
const SLIDES = {
  noise: { to: amps, from: (v) => Math.log10(Math.max(v, 1e-8)), says: inWords },
  step: { to: amps, from: (v) => Math.log10(Math.max(v, 1e-8)), says: inWords },
  heater: { to: (v) => v, from: (v) => v, says: percent },
  depth: { to: (v) => v, from: (v) => v, says: percent },
};

export class BenchView {
  #pairs;
  #faults;
  #usual;
  #figure = new BenchFigure('bench', (wrong, pairs) => this.#shown(wrong, pairs));
  #teller = new Teller($('bench-told'));

  /** `usual` is the bench where an address says nothing. */
  constructor({ types, faults, usual }) {
    this.#faults = faults;
    this.#usual = usual;
    this.#pairs = usual;
    $('bench-type').replaceChildren(...types.map((type) => h('option', {}, type)));
    $('ills').append(...Array.from({ length: MOST }, (_, i) => this.#ill(i)));
    $('bench-form').addEventListener('submit', (event) => event.preventDefault());
    $('bench-form').addEventListener('input', () => this.#changed());
    $('bench-decades').addEventListener('change', () => this.#show());
    $('bench-link').addEventListener('click', () => this.#copy());
    $('bench-save').addEventListener('click', () => save('lesson.svg', 'image/svg+xml', this.#figure.svg('A tube of the lesson bench') ?? ''));
  }

  /** Lays a tube on the bench; what is not said is as usual. */
  open(pairs) {
    const said = pairs.filter(([name]) => name !== 'fault');
    this.#pairs = withIlls(said.reduce((all, [name, value]) => withValue(all, name, value), this.#usual), illsOf(pairs));
    this.#fill();
    this.#show();
  }

  #ill(i) {
    return h('div', { class: 'ill' },
      h('label', { class: 'line' }, i ? 'And' : 'Fault', h('select', { id: `ill-${i}` },
        h('option', { value: '' }, 'nothing'), faultOptions(this.#faults))),
      h('label', { class: 'line' }, 'Section', h('select', { id: `ill-section-${i}` }, h('option', {}, '1'), h('option', {}, '2'))),
      h('label', { class: 'slide' }, 'How bad', h('input', { type: 'range', id: `ill-size-${i}`, min: -0.5, max: 1.3, step: 0.02 })));
  }

  #fill() {
    const of = (name) => valueOf(this.#pairs, name) ?? '';
    $('bench-type').value = of('type');
    $('bench-seed').value = of('seed');
    $('bench-rs').value = of('rs');
    $('bench-meter').value = of('meter');
    $('bench-plates').value = of('plates');
    $('bench-ig').checked = of('ig') === 'yes';
    $('bench-hk').checked = of('hk') === 'yes';
    for (const [name, { from, says }] of Object.entries(SLIDES)) {
      const value = Number.parseFloat(of(name));
      $(`bench-${name}`).value = from(value);
      $(`bench-${name}-says`).textContent = says(value);
    }
    const ills = illsOf(this.#pairs);
    for (let i = 0; i < MOST; i += 1) {
      const { fault = '', section = 1, severity = 0.6 } = ills[i] ?? {};
      $(`ill-${i}`).value = fault;
      $(`ill-section-${i}`).value = section;
      $(`ill-size-${i}`).value = severity;
    }
    this.#able();
  }

  /** Only what matters can be moved. */
  #able() {
    for (let i = 0; i < MOST; i += 1) {
      const fault = this.#faults.find(({ name }) => name === $(`ill-${i}`).value);
      $(`ill-size-${i}`).disabled = !fault?.sized;
      $(`ill-section-${i}`).disabled = !fault || fault.bench;
    }
  }

  #changed() {
    let pairs = this.#pairs;
    const set = (name, value) => { pairs = withValue(pairs, name, value); };
    for (const name of ['type', 'seed', 'rs', 'meter', 'plates']) set(name, $(`bench-${name}`).value);
    for (const name of ['ig', 'hk']) set(name, $(`bench-${name}`).checked ? 'yes' : 'no');
    for (const [name, { to, says }] of Object.entries(SLIDES)) {
      const value = to(Number($(`bench-${name}`).value));
      set(name, value);
      $(`bench-${name}-says`).textContent = says(value);
    }
    const ills = Array.from({ length: MOST }, (_, i) => ({ fault: $(`ill-${i}`).value, section: Number($(`ill-section-${i}`).value), severity: Number($(`ill-size-${i}`).value) }));
    this.#pairs = withIlls(pairs, ills.filter(({ fault }) => fault));
    this.#able();
    this.#show();
  }

  #show() {
    this.#figure.show(this.#pairs, { decades: $('bench-decades').checked, grid: valueOf(this.#pairs, 'ig') === 'yes' });
  }

  /** The curves of `pairs` are drawn, or something is wrong with them. */
  #shown(wrong, pairs) {
    $('bench-bad').hidden = !wrong;
    $('bench-bad').textContent = wrong ? `${LABELS[wrong.name] ?? wrong.name}: ${wrong.what}.` : '';
    if (wrong || pairs !== this.#pairs) return;
    this.#teller.tell(pairs);
    history.replaceState(null, '', fragment('bench', pairs));
  }

  async #copy() {
    try {
      await navigator.clipboard.writeText(location.href);
      announce('The link was copied');
      $('bench-link').textContent = 'Copied';
      setTimeout(() => { $('bench-link').textContent = 'Copy the link'; }, 2000);
    } catch {
      announce('The link is in the address bar');
    }
  }
}

const LABELS = { rs: 'Resistor in the grid lead', seed: 'Specimen', type: 'Type', fault: 'What is wrong' };
