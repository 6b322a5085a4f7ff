// The lot as a table: a row a tube with its curves in small, its verdict and its figures. Only the rows in sight are in
// the document, so that a lot of any size stays smooth.
import { $, h, s } from './dom.js';
import { COLUMNS, THUMB, verdictOf } from './engine.js';
import { verdictShape } from './shapes.js';

/** Rows beyond the edges that are there already, for a quick hand. */
const BEYOND = 8;

/** What stands above the columns: the order that each goes by, what it says, what that means. */
const HEADS = [
  [null, 'Ticked'],
  [null, 'Curves'],
  ['name', 'Tube', 'The tube and its type; ordered by the tube\u2019s name'],
  ['worst', 'Verdict', 'What the sweep says; ordered by the worst'],
  ['own', 'Yours', 'What you decided'],
  ...COLUMNS.map(({ head, says }) => [head, head, says]),
];

/** The table. */
export class Table {
  #on;
  #entries = [];
  #ticked = new Set();
  /** The tube that the keys act on, and the one from which a stretch of ticks goes. */
  #active = null;
  #from = null;
  /** The rows that are in the document, by place. */
  #rows = new Map();
  #height = 0;
  #waiting = false;

  /** `on.order(by)` for another order, `on.tick(ids, ticked)`, `on.open(entry)`. */
  constructor(on) {
    this.#on = on;
    $('table-heads').append(...HEADS.map(([by, word, says]) => h('div', { role: 'columnheader', class: by ? null : 'unheaded' },
      by ? h('button', { type: 'button', 'data-by': by, title: says }, word) : h('span', { class: 'unseen' }, word))));
    $('table-heads').addEventListener('click', (event) => {
      const { by } = event.target.closest('button')?.dataset ?? {};
      if (by) this.#on.order(by);
    });
    const table = $('table');
    table.addEventListener('scroll', () => this.#later(), { passive: true });
    table.addEventListener('keydown', (event) => this.#key(event));
    $('table-rows').addEventListener('click', (event) => this.#clicked(event));
    $('table-rows').addEventListener('dblclick', (event) => {
      const entry = this.#at(event.target);
      if (entry && !event.target.closest('input')) this.#on.open(entry);
    });
    new ResizeObserver(() => this.#later()).observe(table);
  }

  /** Shows tubes in that order; the row that was active stays so. */
  show(entries, { by, down }) {
    this.#entries = entries;
    if (!entries.includes(this.#active)) this.#active = entries[0] ?? null;
    for (const head of $('table-heads').children) {
      const own = head.querySelector('button')?.dataset.by === by;
      if (own) head.setAttribute('aria-sort', down ? 'descending' : 'ascending');
      else head.removeAttribute('aria-sort');
    }
    $('table').setAttribute('aria-rowcount', entries.length + 1);
    for (const row of this.#rows.values()) row.remove();
    this.#rows.clear();
    this.#render();
  }

  /** Those are ticked, and no others. */
  tickedAre(ids) {
    this.#ticked = ids;
    for (const [place, row] of this.#rows) this.#mark(row, this.#entries[place]);
  }

  #later() {
    if (this.#waiting) return;
    this.#waiting = true;
    requestAnimationFrame(() => {
      this.#waiting = false;
      this.#render();
    });
  }

  #render() {
    const [table, box] = [$('table'), $('table-rows')];
    if (!table.clientHeight) return;
    // A row is as high as letters make it, whatever their size.
    this.#height ||= this.#measured(box);
    box.style.height = `${this.#height * this.#entries.length}px`;
    const first = Math.max(0, Math.floor(table.scrollTop / this.#height) - BEYOND);
    const end = Math.min(this.#entries.length, Math.ceil((table.scrollTop + table.clientHeight) / this.#height) + BEYOND);
    const active = this.#entries.indexOf(this.#active);
    for (const [place, row] of this.#rows) {
      if ((place < first || place >= end) && place !== active) {
        row.remove();
        this.#rows.delete(place);
      }
    }
    for (let place = first; place < end; place++) this.#put(place);
    if (active >= 0) this.#put(active);
    if (active >= 0) table.setAttribute('aria-activedescendant', `row-${active}`);
    else table.removeAttribute('aria-activedescendant');
  }

  #measured(box) {
    const probe = h('div', { class: 'table-row' });
    box.append(probe);
    const { height } = probe.getBoundingClientRect();
    probe.remove();
    return height;
  }

  #put(place) {
    if (this.#rows.has(place)) return;
    const entry = this.#entries[place];
    const row = this.#row(entry, place);
    row.style.top = `${place * this.#height}px`;
    this.#mark(row, entry);
    this.#rows.set(place, row);
    $('table-rows').append(row);
  }

  #mark(row, entry) {
    const ticked = this.#ticked.has(entry.id);
    row.setAttribute('aria-selected', String(ticked));
    row.querySelector('input').checked = ticked;
    row.classList.toggle('active', entry === this.#active);
  }

  #row(entry, place) {
    const { sheet, row, own } = entry;
    const name = sheet.tube || 'unnamed';
    const { word } = verdictOf(sheet.verdict);
    return h('div', { role: 'row', class: 'table-row', id: `row-${place}`, 'data-place': place, 'aria-rowindex': place + 2 },
      h('div', { role: 'gridcell' }, h('input', { type: 'checkbox', tabindex: -1, 'aria-label': `Tick ${name}` })),
      h('div', { role: 'gridcell', class: 'thumb' }, thumb(row.thumb, name)),
      h('div', { role: 'rowheader', class: 'table-name' }, h('button', { type: 'button', tabindex: -1 }, name), h('span', { class: 'tube-type' }, sheet.kind ?? '')),
      h('div', { role: 'gridcell', class: 'table-verdict' }, verdictShape(sheet.verdict, 16), h('span', {}, word, sheet.brief && h('span', { class: 'tube-brief' }, ` \u00b7 ${sheet.brief}`))),
      h('div', { role: 'gridcell' }, own ? verdictOf(own).word : ''),
      row.cells.map((cell) => h('div', { role: 'gridcell', class: 'digits' }, cell?.says ?? '\u2013')));
  }

  /** The tube on whose row something is. */
  #at(target) {
    const row = target.closest('.table-row');
    return row ? this.#entries[Number(row.dataset.place)] : null;
  }

  #clicked(event) {
    const entry = this.#at(event.target);
    if (!entry) return;
    if (event.target.closest('button')) {
      this.#on.open(entry);
      return;
    }
    if (event.target.closest('input') || event.shiftKey) this.#tickTo(entry, event.shiftKey);
    else this.#from = entry;
    this.#activate(entry, false);
    $('table').focus({ preventScroll: true });
  }

  /** Ticks a tube or no longer, or all from the last one that was. */
  #tickTo(entry, stretch) {
    const [a, b] = [this.#entries.indexOf(this.#from), this.#entries.indexOf(entry)];
    if (stretch && a >= 0) {
      this.#on.tick(this.#entries.slice(Math.min(a, b), Math.max(a, b) + 1).map(({ id }) => id), true);
      return;
    }
    this.#from = entry;
    this.#on.tick([entry.id], !this.#ticked.has(entry.id));
  }

  #activate(entry, scroll = true) {
    this.#active = entry;
    const place = this.#entries.indexOf(entry);
    const table = $('table');
    if (scroll && place >= 0) {
      const [top, head] = [place * this.#height, $('table-heads').parentElement.offsetHeight];
      const room = table.clientHeight - head;
      if (top < table.scrollTop) table.scrollTop = top;
      else if (top + this.#height > table.scrollTop + room) table.scrollTop = top + this.#height - room;
    }
    this.#render();
    for (const [at, row] of this.#rows) this.#mark(row, this.#entries[at]);
  }

  #key(event) {
    if (event.target !== event.currentTarget || event.altKey || !this.#active) return;
    const all = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'a';
    if (!all && (event.ctrlKey || event.metaKey)) return;
    const page = Math.max(1, Math.floor($('table').clientHeight / this.#height) - 2);
    const by = { ArrowDown: 1, ArrowUp: -1, PageDown: page, PageUp: -page, Home: -Infinity, End: Infinity }[event.key];
    if (all) this.#on.tick(this.#entries.map(({ id }) => id), true);
    else if (event.key === ' ') this.#tickTo(this.#active, event.shiftKey);
    else if (event.key === 'Enter') this.#on.open(this.#active);
    else if (by !== undefined) {
      const last = this.#entries.length - 1;
      const to = this.#entries[Math.max(0, Math.min(last, this.#entries.indexOf(this.#active) + by))];
      if (event.shiftKey) {
        this.#from ??= this.#active;
        this.#tickTo(to, true);
      } else this.#from = to;
      this.#activate(to);
    } else return;
    event.preventDefault();
  }
}

/** The small picture of a tube's curves. */
function thumb(strokes, name) {
  const [width, height] = THUMB;
  return s('svg', { viewBox: `0 0 ${width} ${height}`, width, height, role: 'img', 'aria-label': `Curves of ${name}` },
    strokes.map(({ section, path }) => s('path', { class: `series-${section % 4}`, d: path })));
}
