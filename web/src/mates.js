// The chosen tube among the others of its type: a picture of the lot.
import { STEPS, cleared, dark, forced, look, onDensity } from './canvas.js';
import { $, count, h, sentence } from './dom.js';
import { LotScreen } from './engine.js';

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
  #waiting = false;
  #speaking = 0;
  #on;

  /** `on.choose(entry)` for the tube that is to be opened. */
  constructor(on) {
    this.#on = on;
    const plot = $('lot-plot');
    new ResizeObserver(() => this.#fit()).observe(plot);
    for (const query of [dark, forced]) query.addEventListener('change', () => this.#paint());
    onDensity(() => this.#paint());
    plot.addEventListener('pointermove', (event) => this.#read(this.#at(event)));
    plot.addEventListener('pointerleave', () => { if (document.activeElement !== plot) this.#read(null); });
    plot.addEventListener('click', (event) => this.#choose(this.#at(event)?.index));
    plot.addEventListener('keydown', (event) => this.#key(event));
    plot.addEventListener('blur', () => this.#read(null));
    for (const axis of ['x', 'y']) {
      $(`lot-${axis}`).addEventListener('change', (event) => {
        this.#axes[axis] = event.target.value;
        this.#fit(true);
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
    this.#dressed = false;
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
    if (!other && this.#dressed) {
      $('mates').hidden = !this.#many;
      if (this.#many && this.#size.width > 0) this.#paintPointed();
      return;
    }
    const said = this.#said();
    this.#dressed = said !== null;
    this.#many = Boolean(said) && said.tubes >= FEWEST;
    $('mates').hidden = !this.#many;
    if (!this.#many) return;
    this.#pointed = null;
    $('mates-count').textContent = `${count(said.tubes, 'tube')}${said.kind ? ` labelled ${said.kind}` : ' without a type'}`;
    $('lot-says').textContent = said.says;
    $('lot-at').textContent = said.at ?? '';
    $('lot-odd').hidden = said.odd.length === 0;
    $('lot-odd-list').replaceChildren(...said.odd.map(([index, name, says]) => h('li', {},
      h('button', { type: 'button', class: 'small', onclick: () => this.#choose(index) }, name || 'unnamed'), ` ${sentence(says)}`)));
    this.#fit(true);
  }

  #said() {
    return this.#attempt(() => this.#screen && JSON.parse(this.#screen.said()));
  }

  #wanted() {
    return JSON.stringify({ ...this.#size, ...this.#axes });
  }

  #fit(force = false) {
    if (!this.#screen || $('mates').hidden || !$('mates').open) return;
    const plot = $('lot-plot');
    const width = Math.floor(plot.clientWidth);
    if (width === 0 || (!force && width === this.#size.width)) return;
    this.#size = { width, height: Math.round(Math.max(240, Math.min(0.62 * width, 340))) };
    plot.style.setProperty('height', `${this.#size.height}px`);
    this.#attempt(() => this.#screen.fit(this.#wanted()));
    const said = this.#said();
    if (!said) return;
    for (const [axis, shown] of [['x', said.shown[0]], ['y', said.shown[1]]]) {
      $(`lot-${axis}`).replaceChildren(...said.axes.map(([value, title]) => h('option', { value }, title)));
      $(`lot-${axis}`).value = shown;
    }
    plot.setAttribute('aria-label', `The tubes of the lot. ${said.describes}`);
    this.#read(null);
    this.#table();
    this.#paint();
  }

  #paint() {
    if (this.#waiting) return;
    this.#waiting = true;
    requestAnimationFrame(() => {
      this.#waiting = false;
      if (!this.#screen || this.#size.width === 0 || !$('mates').open) return;
      this.#attempt(() => this.#screen.draw(cleared($('lot-spots'), this.#size), look()));
      this.#paintPointed();
    });
  }

  #paintPointed() {
    this.#attempt(() => this.#screen?.draw_pointed(cleared($('lot-pointed'), this.#size), look(), this.#pointed ?? undefined));
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
    const readout = $('lot-readout');
    readout.classList.toggle('empty', !found);
    readout.replaceChildren(...(found?.parts ?? []).map(([name, value]) => h('div', {}, h('dt', {}, name), h('dd', {}, value || 'unnamed'))));
    if (this.#size.width > 0) this.#paintPointed();
  }

  /** Said a moment after the last key, so that a held key is not read out tube by tube. */
  #speak(found) {
    clearTimeout(this.#speaking);
    if (!found) return;
    const text = found.parts.map(([name, value]) => `${name} ${value}`).join(', ');
    this.#speaking = setTimeout(() => { $('lot-spoken').textContent = text; }, 180);
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
      h('tbody', {}, table.rows.map((row) => h('tr', {}, row.map((cell, i) => h(i ? 'td' : 'th', i ? {} : { scope: 'row' }, cell)))))));
  }

  /** Does something with the picture; where that fails, the rest of the sheet still stands. */
  #attempt(work) {
    try {
      const result = work();
      $('lot-failed').hidden = true;
      return result;
    } catch (error) {
      console.warn('picture of the lot:', error);
      $('lot-failed').hidden = false;
      return null;
    }
  }
}
