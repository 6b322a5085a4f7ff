// The curves of the chosen tube: two canvases, a read-out, a keyboard.
import { STEPS, attempting, cleared, dark, forced, look, onDensity, painter, showReading, speaker } from './canvas.js';
import { $, h, save } from './dom.js';
import { Screen } from './engine.js';
import { MARK, local } from './local.js';

const PRINTED = { width: 700, height: 430 };
// Rows of one table of numbers; beyond, a screen reader is better served by the file.
const MOST_ROWS = 400;

/** Figure, read-out and table of numbers. */
export class FigureView {
  #screen = null;
  #entry = null;
  #cursor = null;
  #marks = [];
  #axis = 'full';
  #axisChosen = false;
  #size = { width: 0, height: 0 };
  #attempt = attempting('figure-failed', 'figure');
  #speak = speaker('figure-spoken');
  #paint = painter((layers) => this.#draw(layers));

  constructor() {
    const plot = $('plot');
    new ResizeObserver(() => this.#fit()).observe(plot);
    for (const query of [dark, forced]) query.addEventListener('change', () => this.#dress());
    onDensity(() => this.#dress());
    plot.addEventListener('pointermove', (event) => this.#point(event));
    plot.addEventListener('pointerdown', (event) => this.#point(event));
    plot.addEventListener('pointerleave', () => { if (document.activeElement !== plot) this.#read(null); });
    plot.addEventListener('keydown', (event) => this.#key(event));
    plot.addEventListener('blur', () => this.#read(null));
    $('axis').addEventListener('change', (event) => {
      this.#axis = event.target.value;
      this.#axisChosen = true;
      this.#replan();
    });
    $('with-grid').addEventListener('change', () => this.#fit(true));
    $('numbers').addEventListener('toggle', () => this.#tables());
    $('save-figure').addEventListener('click', () => this.#save());
    addEventListener('beforeprint', () => this.#print());
  }

  /** Shows a tube. */
  show(entry) {
    this.#screen?.free();
    this.#screen = null;
    this.#entry = entry;
    this.#cursor = null;
    this.#marks = [];
    this.#axisChosen = false;
    this.#axis = 'full';
    $('grid-choice').hidden = !entry.sheet.grid_current;
    $('numbers').open = false;
    this.#showAxis();
    this.#attempt(() => { this.#screen = new Screen(entry.tube, this.#options(), look(this.#marks)); });
    this.#fit(true);
    this.#describe();
  }

  /** Marks the points that a finding rests on; `null` for none. */
  mark(finding) {
    this.#marks = finding?.marks ?? [];
    if (!this.#axisChosen) {
      this.#axis = finding?.axis ?? 'full';
      this.#showAxis();
    }
    $('axis-note').hidden = this.#axisChosen || this.#axis !== 'decades';
    this.#replan();
  }

  /** For print: nothing is drawn where nobody looks. */
  #print() {
    const box = $('printed-figure');
    box.replaceChildren();
    const text = this.#svg(PRINTED, MARK);
    if (!text) return;
    const drawing = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
    box.append(document.importNode(drawing, true));
  }

  /** As a document; a file has a decimal point, whoever reads it. */
  #svg(size, mark = '.') {
    return this.#attempt(() => this.#screen?.svg(this.#options(size, mark), `${this.#entry.sheet.tube}: ${this.#screen.describe()}`));
  }

  #save() {
    const text = this.#svg(PRINTED);
    if (text) save(`${this.#entry.sheet.tube || 'tube'}.svg`, 'image/svg+xml', text);
  }

  #options(size = this.#size, mark = MARK) {
    const grid = this.#entry.sheet.grid_current && $('with-grid').checked;
    return JSON.stringify({ ...size, current: this.#axis, grid_current: grid, decimal_mark: mark });
  }

  #describe() {
    const text = local(this.#attempt(() => this.#screen?.describe()) ?? '');
    $('figure-words').textContent = text;
    $('plot').setAttribute('aria-label', `Curves of tube ${this.#entry.sheet.tube}. ${text}`);
  }

  #showAxis() {
    for (const input of $('axis').querySelectorAll('input')) input.checked = input.value === this.#axis;
    $('axis-note').hidden = true;
  }

  #fit(force = false) {
    if (!this.#entry) return;
    const plot = $('plot');
    const width = Math.floor(plot.clientWidth);
    if (width === 0 || (!force && width === this.#size.width)) return;
    const grid = this.#entry.sheet.grid_current && $('with-grid').checked;
    const base = Math.max(260, Math.min(0.6 * width, 0.5 * innerHeight, 420));
    const height = Math.round(grid ? 1.3 * base : base);
    this.#size = { width, height };
    plot.style.setProperty('height', `${height}px`);
    this.#replan();
  }

  #replan() {
    this.#attempt(() => {
      this.#screen?.fit(this.#options());
      this.#screen?.dress(look(this.#marks));
    });
    this.#paint('curves');
    this.#paint('cursor');
  }

  #dress() {
    this.#attempt(() => this.#screen?.dress(look(this.#marks)));
    this.#paint('curves');
    this.#paint('cursor');
  }

  #draw(layers) {
    if (!this.#screen || this.#size.width === 0) return;
    this.#attempt(() => {
      if (layers.has('curves')) this.#screen.draw(cleared($('curves'), this.#size));
      if (layers.has('cursor')) this.#screen.draw_cursor(cleared($('cursor'), this.#size), JSON.stringify(this.#cursor));
    });
  }

  #point(event) {
    const box = $('plot').getBoundingClientRect();
    const found = this.#attempt(() => JSON.parse(this.#screen?.nearest(event.clientX - box.left, event.clientY - box.top) ?? 'null'));
    this.#read(found);
  }

  #key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === 'Escape') {
      this.#read(null);
      return;
    }
    const step = STEPS[event.key];
    if (!step) return;
    event.preventDefault();
    const found = this.#attempt(() => JSON.parse(this.#screen?.step(JSON.stringify(this.#cursor), JSON.stringify(step)) ?? 'null'));
    this.#read(found);
    this.#speak(found, found?.marked ? ', marked' : '');
  }

  #read(found) {
    this.#cursor = found?.at ?? null;
    showReading('readout', found);
    if (found?.marked) $('readout').append(h('div', { class: 'marked' }, h('dt', {}, 'Marked'), h('dd', {}, 'yes')));
    this.#paint('cursor');
  }

  #tables() {
    const box = $('tables');
    if (!$('numbers').open) {
      box.replaceChildren();
      return;
    }
    const tables = this.#attempt(() => local(JSON.parse(this.#screen?.tables() ?? '[]'))) ?? [];
    box.replaceChildren(...tables.map(({ caption, columns, rows }) => h('table', { class: 'points' },
      h('caption', {}, rows.length > MOST_ROWS ? `${caption} (the first ${MOST_ROWS} of ${rows.length} points)` : caption),
      h('thead', {}, h('tr', {}, columns.map((column) => h('th', { scope: 'col' }, column)))),
      h('tbody', {}, rows.slice(0, MOST_ROWS).map((row) => h('tr', {}, row.map((cell, i) => h(i ? 'td' : 'th', i ? {} : { scope: 'row' }, cell))))))));
  }
}
