// The form for what was seen of a tube beside its sweep.
import { $, announce, h } from '../dom.js';
import { quantity } from '../engine.js';

// Where it is not known which electrode a pin is, the pin itself; no base has more than twelve.
const PINS = Array.from({ length: 12 }, (_, i) => `pin ${i + 1}`);
const ELECTRODES = ['plate', 'grid', 'cathode', 'heater', 'screen', 'suppressor', ...PINS];
const electrode = (name) => (name.startsWith('pin ') ? { pin: Number(name.slice(4)) } : name);
// What can be seen: its fields, and what it says of them.
const KINDS = {
  shorts: ['The tester’s shorts lamp', ['lit', 'counts'], ({ lit }) => ({ kind: 'lamp', lamp: 'shorts', lit })],
  grid: ['The tester’s grid lamp', ['lit', 'counts'], ({ lit }) => ({ kind: 'lamp', lamp: 'grid', lit })],
  insulation: ['Insulation, measured cold', ['a', 'b', 'ohm', 'more'], ({ a, b, ohm, more }) => ({ kind: 'insulation', between: [electrode(a), electrode(b)], ohm, more })],
  heater: ['Heater current', ['ampere'], ({ ampere }) => ({ kind: 'heater-current', ampere })],
  'heater-cathode': ['Heater–cathode current', ['ampere', 'volt'], ({ ampere, volt }) => ({ kind: 'heater-cathode', ampere, volt })],
  tap: ['Behaviour when it was tapped', ['reading'], ({ reading }) => ({ kind: 'tap', reading })],
  hum: ['Hum in its stage', ['heard'], ({ heard }) => ({ kind: 'hum', heard })],
  eye: ['What the eye sees', ['sight'], ({ sight }) => ({ kind: 'eye', sight })],
};
const CHOICES = {
  counts: [['1', 'as often as without'], ['2', '2 times as often'], ['3', '3 times as often'], ['4', '4 times as often']],
  lit: [['true', 'it lit'], ['false', 'it stayed dark']],
  a: ELECTRODES.map((name) => [name, name]),
  b: ELECTRODES.map((name) => [name, name]),
  reading: [['steady', 'the reading stayed'], ['rings', 'it rang and came back'], ['jumps', 'it jumped']],
  heard: [['true', 'heard'], ['false', 'not heard']],
  sight: [['sound', 'getter there, nothing broken'], ['getter-white', 'getter white'], ['getter-missing', 'no getter mirror'], ['loose-parts', 'loose parts'], ['cracked-glass', 'cracked glass']],
};
const QUANTITIES = { ohm: ['Resistance', '1 MΩ'], ampere: ['Current', '10 uA'], volt: ['at a voltage of', '100 V'] };
const LABELS = { lit: 'What it did', counts: 'With a fault it lights', a: 'From', b: 'To', reading: 'What it did', heard: 'Hum', sight: 'Seen' };

/** The form, filled anew for each kind. */
export class SeenForm {
  #on;
  #lamps;

  /** `on(seen, lamp)`, with the acts that set how much a lamp counts, resolves to whether it was recorded; `lamps()` how much they count now. */
  constructor(on, lamps) {
    this.#on = on;
    this.#lamps = lamps;
    const what = $('own-seen-what');
    what.replaceChildren(...Object.entries(KINDS).map(([value, [words]]) => h('option', { value }, words)));
    what.addEventListener('change', () => this.#dress());
    $('own-seen-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#submitted();
    });
    this.#dress();
  }

  /** For a tube of these sections. */
  show(sections) {
    $('own-seen-section').replaceChildren(h('option', { value: '' }, 'the whole tube'), ...sections.map((name) => h('option', { value: name }, `section ${name}`)));
    $('own-seen-section').closest('label').hidden = sections.length < 2;
  }

  /** Asks for a measurement: the form is filled in for it, but for its result. */
  ask(between) {
    $('own-seen-what').value = 'insulation';
    this.#dress();
    [$('own-seen-a').value, $('own-seen-b').value] = between;
    $('own-seen-ohm').focus();
  }

  #dress() {
    const [, fields] = KINDS[$('own-seen-what').value];
    $('own-seen-bad').hidden = true;
    $('own-seen-fields').replaceChildren(...fields.map((name) => {
      const id = `own-seen-${name}`;
      if (name === 'more') return h('label', { class: 'check' }, h('input', { type: 'checkbox', id }), ' the meter showed more than its range, which is this');
      if (name in QUANTITIES) return h('label', { class: 'field' }, QUANTITIES[name][0], h('input', { id, autocomplete: 'off', spellcheck: 'false', placeholder: `as ${QUANTITIES[name][1]}` }));
      return h('label', { class: name === 'counts' ? 'field wide' : 'field' }, LABELS[name], h('select', { id }, CHOICES[name].map(([value, words]) => h('option', { value }, words))));
    }));
    if (fields.includes('b')) $('own-seen-b').value = 'cathode';
    if (fields.includes('counts')) $('own-seen-counts').value = String(Math.round(this.#lamps()[$('own-seen-what').value]));
  }

  async #submitted() {
    const [, fields, says] = KINDS[$('own-seen-what').value];
    const values = {};
    for (const name of fields) {
      const field = $(`own-seen-${name}`);
      if (name === 'more') values[name] = field.checked;
      else if (name in QUANTITIES) {
        values[name] = quantity(field.value, name);
        if (values[name] === undefined) {
          this.#bad(`${QUANTITIES[name][0]}: "${field.value}" cannot be read. Write it with its unit, as ${QUANTITIES[name][1]}.`, field);
          return;
        }
      } else values[name] = ['true', 'false'].includes(field.value) ? field.value === 'true' : field.value;
    }
    if (values.a && values.a === values.b) {
      this.#bad('From and to are the same electrode. Choose two.', $('own-seen-b'));
      return;
    }
    const lamp = $('own-seen-what').value;
    const ratio = Number(values.counts);
    const other = 'counts' in values && ratio !== this.#lamps()[lamp];
    const done = await this.#on({ section: $('own-seen-section').value || null, seen: says(values) }, other ? [{ do: 'set-lamp', lamp, ratio }] : []);
    if (!done) return;
    this.#dress();
    announce('It is written down');
  }

  #bad(text, field) {
    $('own-seen-bad').textContent = text;
    $('own-seen-bad').hidden = false;
    field.setAttribute('aria-invalid', 'true');
    field.focus();
  }
}
