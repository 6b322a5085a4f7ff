// The lot: every tube that was read, and the list or the table of them.
import { $, announce, count, h } from './dom.js';
import { VERDICTS, verdictOf } from './engine.js';
import { ORDERS, inOrder } from './order.js';
import { verdictShape } from './shapes.js';
import { Table } from './table.js';

/** The list of tubes beside the sheet, or their table in its place. */
export class Lot {
  #entries = [];
  #shown = [];
  #chosen = null;
  /** The tubes that were ticked, for what is done with several. */
  #ticked = new Set();
  #filter = 'all';
  #words = '';
  #order = { by: 'read', down: false };
  #tabled = false;
  #table;
  #on;
  #waiting = false;

  /** `on.choose(entry)` for another tube, `on.render()` whenever the list changed, `on.ticked()` whenever other tubes are ticked, `on.view()` once it is a table or a list again. */
  constructor(on) {
    this.#on = on;
    this.#table = new Table({
      order: (by) => this.#orderBy({ by, down: by === this.#order.by && !this.#order.down }),
      tick: (ids, ticked) => this.tick(ids, ticked),
      open: (entry) => this.open(entry),
    });
    $('order').append(...Object.entries(ORDERS).map(([by, { says }]) => h('option', { value: by }, says)));
    $('view').addEventListener('change', (event) => this.showAs(event.target.value));
    $('tick-all').addEventListener('click', () => {
      this.tick(this.#shown.map(({ id }) => id), true);
      announce(`${count(this.#ticked.size, 'tube')} ticked`);
    });
    $('tick-none').addEventListener('click', () => {
      this.tick([...this.#ticked], false);
      announce('No tube ticked');
      $('table').focus();
    });
    const list = $('tubes');
    list.addEventListener('click', (event) => {
      const row = event.target.closest('[role=option]');
      if (row) this.choose(this.#shown[Number(row.dataset.place)]);
    });
    list.addEventListener('keydown', (event) => this.#key(event));
    $('find').addEventListener('input', (event) => {
      this.#words = event.target.value.trim().toLowerCase();
      this.render();
      announce(count(this.#shown.length, 'tube'));
    });
    $('order').addEventListener('change', (event) => this.#orderBy({ by: event.target.value, down: false }));
    $('filters').addEventListener('change', (event) => {
      this.#filter = event.target.value;
      this.render();
      announce(count(this.#shown.length, 'tube'));
    });
  }

  get entries() { return this.#entries; }
  get chosen() { return this.#chosen; }
  get ticked() { return this.#entries.filter(({ id }) => this.#ticked.has(id)); }
  get tabled() { return this.#tabled; }

  /** Shows the tubes as a `list` beside the sheet of one, or as a `table` instead. */
  showAs(view) {
    this.#tabled = view === 'table';
    for (const input of $('view').querySelectorAll('input')) input.checked = input.value === view;
    this.#on.view();
    this.render();
  }

  /** Opens the sheet of a tube. */
  open(entry) {
    this.showAs('list');
    this.choose(entry);
    $('tube-title').focus();
    announce(`Tube ${entry.sheet.tube}`);
  }

  /** Ticks tubes, or no longer. */
  tick(ids, ticked) {
    for (const id of ids) {
      if (ticked) this.#ticked.add(id);
      else this.#ticked.delete(id);
    }
    this.#showTicked();
  }

  #showTicked() {
    const there = this.ticked;
    this.#ticked = new Set(there.map(({ id }) => id));
    $('ticked-count').textContent = there.length ? `${count(there.length, 'tube')} ticked` : 'No tube ticked';
    $('tick-none').disabled = there.length === 0;
    if (this.#tabled) this.#table.tickedAre(this.#ticked);
    this.#on.ticked(there);
  }

  #orderBy(order) {
    this.#order = order;
    $('order').value = order.by;
    this.render();
  }

  /** Adds a tube; the first one is chosen. */
  add(entry) {
    this.#entries.push(entry);
    if (!this.#chosen) this.choose(entry);
    this.later();
  }

  /** Puts tubes in the place of others; the first of them is chosen if one of those was. */
  exchange(ids, entries) {
    const gone = new Set(ids);
    const at = this.#entries.findIndex((e) => gone.has(e.id));
    const left = this.#entries.filter((e) => !gone.has(e.id));
    left.splice(at < 0 ? left.length : at, 0, ...entries);
    this.#entries = left;
    if (!left.includes(this.#chosen)) this.choose(entries.find(({ sheet }) => sheet.tube === this.#chosen?.sheet.tube) ?? entries[0]);
    this.later();
  }

  /** Puts a new judgement in the place of an old one. */
  replace(id, judged) {
    const entry = this.#entries.find((e) => e.id === id);
    if (!entry) return;
    Object.assign(entry, judged);
    if (entry === this.#chosen) this.#on.choose(entry);
    this.later();
  }

  /** Takes tubes off the list; a neighbour is chosen if one of them was. */
  remove(ids) {
    const gone = new Set(ids);
    const at = this.#entries.indexOf(this.#chosen);
    this.#entries = this.#entries.filter((e) => !gone.has(e.id));
    if (this.#chosen && gone.has(this.#chosen.id)) {
      this.#chosen = null;
      this.choose(this.#entries[Math.min(Math.max(at, 0), this.#entries.length - 1)]);
    }
    this.later();
  }

  clear() {
    this.#entries = [];
    this.#chosen = null;
    this.#filter = 'all';
    this.#words = $('find').value = '';
    this.showAs('list');
  }

  /** How many tubes have each verdict, in words. */
  summary() {
    const parts = VERDICTS.map(({ name, word }) => [this.#entries.filter((e) => e.sheet.verdict === name).length, word])
      .filter(([n]) => n > 0)
      .map(([n, word]) => `${n} ${word.toLowerCase()}`);
    return `${count(this.#entries.length, 'tube')}: ${parts.join(', ')}`;
  }

  /** Renders once for all tubes that come in one frame. */
  later() {
    if (this.#waiting) return;
    this.#waiting = true;
    requestAnimationFrame(() => {
      this.#waiting = false;
      this.render();
    });
  }

  choose(entry) {
    if (!entry || entry === this.#chosen) return;
    this.#chosen = entry;
    this.#markChosen();
    this.#on.choose(entry);
  }

  /** The tube `by` places further down the list that is shown. */
  neighbour(by) {
    const place = this.#shown.indexOf(this.#chosen);
    return this.#shown[place < 0 ? 0 : place + by] ?? null;
  }

  render() {
    const matches = ({ sheet }) => (this.#filter === 'all' || sheet.verdict === this.#filter)
      && (!this.#words || `${sheet.tube} ${sheet.kind ?? ''} ${sheet.brief ?? ''}`.toLowerCase().includes(this.#words));
    this.#shown = inOrder(this.#entries.filter(matches), this.#order);
    $('tubes').hidden = this.#tabled;
    $('tabled').hidden = !this.#tabled;
    if (this.#tabled) this.#table.show(this.#shown, this.#order);
    else $('tubes').replaceChildren(...this.#shown.map((entry, place) => this.#row(entry, place)));
    this.#showTicked();
    $('none-shown').hidden = this.#shown.length > 0 || this.#entries.length === 0;
    this.#renderFilters();
    this.#markChosen();
    this.#on.render();
  }

  #row({ sheet, own }, place) {
    const { word } = verdictOf(sheet.verdict);
    return h('li', { role: 'option', class: 'tube', 'data-place': place, id: `tube-${place}` },
      verdictShape(sheet.verdict),
      h('span', { class: 'tube-name' }, sheet.tube || 'unnamed'),
      h('span', { class: 'tube-type' }, sheet.kind ?? ''),
      h('span', { class: 'tube-word' }, word, sheet.brief && h('span', { class: 'tube-brief' }, ` · ${sheet.brief}`)),
      own && h('span', { class: 'tube-word' }, `You: ${verdictOf(own).word}`));
  }

  #renderFilters() {
    const options = [{ name: 'all', word: 'All' }, ...VERDICTS];
    const box = $('filters');
    if (!box.children.length) {
      box.append(...options.map(({ name, word }) => h('label', { class: 'chip' },
        h('input', { type: 'radio', name: 'verdict', value: name }),
        name === 'all' ? null : verdictShape(name, 14),
        h('span', {}, `${word} `, h('b', {})))));
    }
    for (const label of box.children) {
      const input = label.querySelector('input');
      const n = this.#entries.filter((e) => input.value === 'all' || e.sheet.verdict === input.value).length;
      label.querySelector('b').textContent = n;
      input.checked = input.value === this.#filter;
      label.classList.toggle('none', n === 0);
    }
  }

  #markChosen() {
    const list = $('tubes');
    if (this.#tabled) return;
    const place = this.#shown.indexOf(this.#chosen);
    for (const row of list.children) {
      row.setAttribute('aria-selected', Number(row.dataset.place) === place ? 'true' : 'false');
    }
    if (place >= 0) list.setAttribute('aria-activedescendant', `tube-${place}`);
    else list.removeAttribute('aria-activedescendant');
    const row = list.children[place];
    // Only inside the list: the page itself stays where it is.
    if (row && list.scrollHeight > list.clientHeight) {
      const { offsetTop: top, offsetHeight: height } = row;
      if (top < list.scrollTop) list.scrollTop = top;
      else if (top + height > list.scrollTop + list.clientHeight) list.scrollTop = top + height - list.clientHeight;
    }
  }

  #key(event) {
    const page = 10;
    const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: page, PageUp: -page, Home: -Infinity, End: Infinity };
    const by = steps[event.key];
    if (by === undefined || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    const last = this.#shown.length - 1;
    const from = this.#shown.indexOf(this.#chosen);
    this.choose(this.#shown[Math.max(0, Math.min(last, from + by))]);
  }
}
