// The chosen tube among the others of its type: a picture of the lot.
import { STEPS, attempting, cleared, dark, forced, look, onDensity, painter, showReading, speaker } from './canvas.js';
import { $, count, h, sentence } from './dom.js';
import { LotScreen } from './engine.js';
import { MARK, local } from './local.js';

const FEWEST = 2;

/** Picture, what is said of it, read-out, odd tubes and table. */
export class MatesView {
  #screen = null;
  /** The tubes that were compared, in that order. */
  #entries = [];
  /** Whether what is said of this lot stands on the page, and whether it has mates. */
  #dressed = false;
  #many = false;
  #entry = null;
  #axes = { x: null, y: null };
  #pointed = null;
  #size = { width: 0, height: 0 };
  #attempt = attempting('lot-failed', 'picture of the lot');
  #speak = speaker('lot-spoken');
  #paint = painter((layers) => this.#draw(layers));
  #on;

  /** `on.choose(entry)` for the tube that is to be opened. */
  constructor(on) {
    this.#on = on;
    const plot = $('lot-plot');
    new ResizeObserver(() => this.#fit()).observe(plot);
    for (const query of [dark, forced]) query.addEventListener('change', () => this.#repaint());
    onDensity(() => this.#repaint());
    plot.addEventListener('pointermove', (event) => this.#read(this.#at(event)));
    plot.addEventListener('pointerleave', () => { if (document.activeElement !== plot) this.#read(null); });
    plot.addEventListener('click', (event) => this.#choose(this.#at(event)?.index));
    plot.addEventListener('keydown', (event) => this.#key(event));
    plot.addEventListener('blur', () => this.#read(null));
    for (const axis of ['x', 'y']) {
      $(`lot-${axis}`).addEventListener('change', (event) => {
        this.#axes[axis] = event.target.value;
        this.#fit(true);
        this.#dress();
      });
    }
    $('mates').addEventListener('toggle', () => this.#fit(true));
    $('lot-numbers').addEventListener('toggle', () => this.#table());
  }

  /** Takes a comparison of these tubes. */
  compared(comparison, entries) {
    this.#screen?.free();
    this.#screen = null;
    this.#entries = entries;
    if (comparison !== null) this.#attempt(() => { this.#screen = LotScreen.of(comparison, this.#wanted()) ?? null; });
    this.#dressed = this.#many = false;
    this.#size = { width: 0, height: 0 };
    if (this.#entry) this.show(this.#entry);
    else $('mates').hidden = true;
  }

  /** Nothing is compared any more. */
  clear() {
    this.#entry = null;
    this.compared(null, []);
  }

  /** Shows the lot of a tube. */
  show(entry) {
    this.#entry = entry;
    const place = this.#entries.indexOf(entry);
    if (!this.#screen || place < 0) {
      $('mates').hidden = true;
      return;
    }
    const other = this.#attempt(() => this.#screen.open(place, this.#wanted()));
    // Of the same lot only the mark moves.
    if (other || !this.#dressed) this.#dress();
    $('mates').hidden = !this.#many;
    if (other) this.#fit(true);
    else this.#fit();
    this.#paint('pointed');
  }

  /** What is said of the lot, and the axes that there are. */
  #dress() {
    const said = this.#attempt(() => JSON.parse(this.#screen.said()));
    this.#dressed = said !== null;
    this.#many = this.#dressed && said.tubes >= FEWEST;
    if (!this.#many) return;
    $('mates-count').textContent = `${count(said.tubes, 'tube')}${said.kind ? ` labelled ${said.kind}` : ' without a type'}`;
    $('lot-says').textContent = local(said.says);
    $('lot-at').textContent = local(said.at ?? '');
    $('lot-odd').hidden = said.odd.length === 0;
    $('lot-odd-list').replaceChildren(...said.odd.map(([index, name, says]) => h('li', {},
      h('button', { type: 'button', class: 'small', onclick: () => this.#choose(index) }, name || 'unnamed'), ` ${local(sentence(says))}`)));
    for (const [axis, shown] of [['x', said.shown[0]], ['y', said.shown[1]]]) {
      $(`lot-${axis}`).replaceChildren(...said.axes.map(([value, title]) => h('option', { value }, title)));
      $(`lot-${axis}`).value = shown;
    }
    $('lot-plot').setAttribute('aria-label', `The tubes of the lot. ${said.describes}`);
  }

  #wanted() {
    return JSON.stringify({ ...this.#size, ...this.#axes, decimal_mark: MARK });
  }

  #fit(force = false) {
    if (!this.#screen || $('mates').hidden || !$('mates').open) return;
    const plot = $('lot-plot');
    const width = Math.floor(plot.clientWidth);
    if (width === 0 || (!force && width === this.#size.width)) return;
    this.#size = { width, height: Math.round(Math.max(240, Math.min(0.62 * width, 340))) };
    plot.style.setProperty('height', `${this.#size.height}px`);
    this.#attempt(() => this.#screen.fit(this.#wanted()));
    this.#read(null);
    this.#table();
    this.#repaint();
  }

  #repaint() {
    this.#paint('spots');
    this.#paint('pointed');
  }

  #draw(layers) {
    if (!this.#screen || this.#size.width === 0 || !$('mates').open) return;
    this.#attempt(() => {
      if (layers.has('spots')) this.#screen.draw(cleared($('lot-spots'), this.#size), look());
      if (layers.has('pointed')) this.#screen.draw_pointed(cleared($('lot-pointed'), this.#size), look(), this.#pointed ?? undefined);
    });
  }

  #at(event) {
    const box = $('lot-plot').getBoundingClientRect();
    return this.#attempt(() => JSON.parse(this.#screen?.nearest(event.clientX - box.left, event.clientY - box.top) ?? 'null'));
  }

  #key(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === 'Escape') {
      this.#read(null);
      return;
    }
    if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      this.#choose(this.#pointed);
      return;
    }
    const step = STEPS[event.key];
    if (!step) return;
    event.preventDefault();
    const from = this.#pointed ?? undefined;
    const found = this.#attempt(() => JSON.parse(this.#screen?.step(from, JSON.stringify(step)) ?? 'null'));
    this.#read(found);
    this.#speak(found);
  }

  #read(found) {
    this.#pointed = found?.index ?? null;
    showReading('lot-readout', found);
    this.#paint('pointed');
  }

  #choose(index) {
    const entry = this.#entries[index ?? -1];
    if (entry) this.#on.choose(entry);
  }

  #table() {
    const box = $('lot-table');
    box.replaceChildren();
    if (!$('lot-numbers').open) return;
    const table = this.#attempt(() => this.#screen && JSON.parse(this.#screen.table()));
    if (!table) return;
    box.append(h('table', { class: 'points' },
      h('caption', {}, table.caption),
      h('thead', {}, h('tr', {}, table.columns.map((column) => h('th', { scope: 'col' }, sentence(column).replace(/\.$/, ''))))),
      h('tbody', {}, table.rows.map((row) => h('tr', {}, row.map((cell, i) => h(i ? 'td' : 'th', i ? {} : { scope: 'row' }, i ? local(cell) : cell)))))));
  }
}
