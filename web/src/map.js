// Columns named by hand: the first rows of a table, what each column is, and the
// figure as it would be read.
import { $, announce, count, h, place, sentence } from './dom.js';
import { look, tryReading } from './engine.js';
import { preview } from './preview.js';
import { recall, remember } from './remembered.js';

/** Bytes of a file that are looked at: a figure of them tells whether the columns are right. */
const MOST_BYTES = 256 * 1024;
const UNITS = { V: ['V', 'mV', 'kV'], A: ['mA', 'uA', 'nA', 'A'], s: ['s'], '': [] };
const FACTORS = { V: 1, mV: 1e-3, kV: 1e3, A: 1, mA: 1e-3, uA: 1e-6, nA: 1e-9, s: 1 };
// Symbol, name, dimension.
const QUANTITIES = [
  ['va', 'Va, plate voltage', 'V'], ['vg', 'Vg, grid voltage', 'V'], ['ia', 'Ia, plate current', 'A'],
  ['ig', 'Ig, grid current', 'A'], ['section', 'section', ''], ['tube', 'tube', ''],
  ['vg2', 'Vg2, screen voltage', 'V'], ['ig2', 'Ig2, screen current', 'A'], ['ik', 'Ik, cathode current', 'A'],
  ['vh', 'Vh, heater voltage', 'V'], ['ih', 'Ih, heater current', 'A'], ['time', 'time', 's'], ['repeat', 'repeat', ''],
];
const DIMENSION = new Map(QUANTITIES.map(([symbol, , dimension]) => [symbol, dimension]));
const HEADS = { va: 'Va', vg: 'Vg', ia: 'Ia', ig: 'Ig', vg2: 'Vg2', ig2: 'Ig2', ik: 'Ik', vh: 'Vh', ih: 'Ih' };

/** The panel in which the columns of a file are named. */
export class ColumnMap {
  #item = null;
  #bytes = null;
  #shape = '';
  #on;

  /** `on(item, options)` once the columns are named. */
  constructor(on) {
    this.#on = on;
    $('map-form').addEventListener('submit', (event) => this.#submitted(event));
    $('map-cancel').addEventListener('click', () => $('map').close());
    for (const id of ['map-heading', 'map-decimal']) $(id).addEventListener('change', () => this.#tried());
    // Another separator makes other columns.
    $('map-separator').addEventListener('change', () => this.#look([`separator=${$('map-separator').value}`]));
    $('map-columns').addEventListener('change', (event) => {
      if (event.target.name === 'what') this.#dress(event.target.closest('.map-column'));
      this.#tried();
    });
  }

  /** Opens it for a file, with the options by which it is read now. */
  async open(item) {
    this.#item = item;
    const part = item.file.slice(0, MOST_BYTES);
    let bytes;
    try {
      bytes = new Uint8Array(await part.arrayBuffer());
    } catch (error) {
      announce(`${item.name} could not be opened: ${error.message}`);
      return;
    }
    // A row that is cut through would not be read.
    const end = item.file.size > MOST_BYTES ? bytes.lastIndexOf(10) + 1 || bytes.length : bytes.length;
    this.#bytes = bytes.subarray(0, end);
    $('map-file').textContent = item.name;
    $('map-prior').hidden = true;
    let options = item.said.map(({ option }) => option);
    if (!options.some((option) => option.startsWith('columns='))) {
      const { look: seen } = this.#seen(options);
      const prior = seen && recall(`columns of ${seen.shape}`);
      if (prior) {
        options = prior.options;
        $('map-prior').hidden = false;
        $('map-prior').textContent = `Filled in as you named them for ${prior.file}, whose table looks the same. Check it.`;
      }
    }
    $('map').showModal();
    this.#look(options);
    $('map-title').focus();
  }

  #seen(options) { return JSON.parse(look(this.#item.name, this.#bytes, JSON.stringify(options))); }

  /** Takes the table apart anew and fills the fields in. */
  #look(options) {
    const { look: seen, unread } = this.#seen(options);
    const has = (key) => options.find((option) => option.startsWith(`${key}=`))?.slice(key.length + 1);
    $('map-decimal').value = has('decimal') ?? '';
    $('map-separator').value = has('separator') ?? seen?.separator ?? 'comma';
    $('map-heading').value = seen?.heading_line ?? 0;
    this.#shape = seen?.shape ?? '';
    $('map-columns').replaceChildren(...(seen ? seen.columns.map((column, i) => this.#column(column, i)) : []));
    $('map-rows').replaceChildren(...(seen ? [
      h('thead', {}, h('tr', {}, h('th', { scope: 'col' }, 'Line'), seen.columns.map((_, i) => h('th', { scope: 'col' }, String(i + 1))))),
      h('tbody', {}, seen.rows.map(({ line, cells }) => h('tr', {}, h('th', { scope: 'row' }, String(line)), seen.columns.map((_, i) => h('td', {}, cells[i] ?? ''))))),
    ] : []));
    if (unread) this.#say(unread);
    else this.#tried();
  }

  #column({ what, factor, section, held }, i) {
    const dimension = DIMENSION.get(what) ?? '';
    const unit = UNITS[dimension].find((one) => FACTORS[one] === factor) ?? '';
    const option = (value, words = value) => h('option', { value }, words);
    const box = h('fieldset', { class: 'map-column' },
      h('legend', {}, `Column ${i + 1}`),
      h('label', {}, 'Holds ', h('select', { name: 'what' }, option('', 'left out'), QUANTITIES.map(([symbol, name]) => option(symbol, name)))),
      h('label', {}, 'Unit ', h('select', { name: 'unit' })),
      h('label', {}, 'Section ', h('input', { name: 'section', autocomplete: 'off', maxlength: 10, value: section ?? '' })),
      h('label', {}, 'At, in V ', h('input', { name: 'held', autocomplete: 'off', inputmode: 'decimal', maxlength: 10, value: held ?? '' })));
    box.querySelector('[name=what]').value = what;
    this.#dress(box, unit);
    return box;
  }

  /** The fields that go with what a column holds. */
  #dress(box, unit) {
    const [what, units, section, held] = ['what', 'unit', 'section', 'held'].map((name) => box.querySelector(`[name=${name}]`));
    const choice = UNITS[DIMENSION.get(what.value) ?? ''];
    units.replaceChildren(...choice.map((one) => h('option', { value: one }, one.replace('u', 'µ'))));
    if (unit) units.value = unit;
    units.closest('label').hidden = choice.length === 0;
    const quantity = what.value in HEADS;
    section.closest('label').hidden = !quantity;
    held.closest('label').hidden = DIMENSION.get(what.value) !== 'A';
  }

  /** The choice as the options of a reading. */
  #options() {
    const heading = (box) => {
      const value = (name) => box.querySelector(`[name=${name}]`).value.trim();
      const what = value('what');
      if (!what) return '-';
      const plain = (text) => text.replace(/[;()[\]@]/g, '');
      const name = HEADS[what] ?? what;
      const unit = value('unit') && ` [${value('unit')}]`;
      const section = what in HEADS && value('section') && ` (section ${plain(value('section'))})`;
      const held = DIMENSION.get(what) === 'A' && value('held') && ` @ ${plain(value('held')).replace(',', '.')} V`;
      return [name, unit, section, held].filter(Boolean).join('');
    };
    const columns = [...$('map-columns').children].map(heading).join(';');
    const decimal = $('map-decimal').value;
    return [`columns=${columns}`, `heading=${Math.max(0, Math.trunc(Number($('map-heading').value) || 0))}`, `separator=${$('map-separator').value}`,
      ...(decimal ? [`decimal=${decimal}`] : [])];
  }

  /** Shows what the choice gives. */
  #tried() {
    const { gives, asks, unread } = JSON.parse(tryReading(this.#item.name, this.#bytes, JSON.stringify(this.#options())));
    $('map-gives').replaceChildren();
    $('map-read').disabled = Boolean(unread);
    if (unread) this.#say(unread);
    else if (asks) this.#words(`This will be asked next: ${asks}.`);
    else {
      this.#words(`${count(gives.points, 'point')} in ${count(gives.sections, 'section')} of ${count(gives.tubes, 'tube')}${this.#item.file.size > MOST_BYTES ? ', of the beginning of the file' : ''}.`);
      const canvas = h('canvas', { 'aria-hidden': 'true' });
      $('map-gives').append(
        h('table', { class: 'points' },
          h('caption', {}, 'The first points as they are read'),
          h('thead', {}, h('tr', {}, ['Va', 'Vg', 'Ia'].map((name) => h('th', { scope: 'col' }, name)))),
          h('tbody', {}, gives.rows.map((row) => h('tr', {}, row.map((cell) => h('td', {}, cell)))))),
        canvas);
      preview(canvas, gives.tube);
    }
  }

  #say(unread) {
    const where = place(unread);
    this.#words(`${where ? `${sentence(where).replace(/\.$/, '')}: ` : ''}${sentence(unread.what)} Name the columns above until it can be read.`, true);
  }

  #words(text, wrong = false) {
    $('map-words').textContent = text;
    $('map-words').classList.toggle('error', wrong);
  }

  #submitted(event) {
    event.preventDefault();
    if ($('map-read').disabled) return;
    const options = this.#options();
    for (const option of options) remember(`columns of ${this.#shape}`, this.#item.name, option);
    $('map').close();
    this.#on(this.#item, options);
  }
}
