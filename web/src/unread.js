// What could not be read, where, and how to mend it.
import { $, count, h, place, sentence } from './dom.js';

/** The list of files that could not be read. */
export class Unread {
  #items = [];
  #name;

  /** `name(item)` to have the columns of a file named. */
  constructor(name) {
    this.#name = name;
  }

  /** As the report lists them. */
  get items() { return this.#items.map(({ key, from, ...item }) => item); }

  /** Whether something of a file was not read. */
  has(key) { return this.#items.some((item) => item.key === key); }

  /** What of one file was not read, in the place of what was said of it before. */
  of(from, items) {
    const { key } = from;
    const at = this.#items.findIndex((item) => item.key === key);
    const others = this.#items.filter((item) => item.key !== key);
    others.splice(at < 0 ? others.length : at, 0, ...items.map((item) => ({ ...item, key, from })));
    this.#items = others;
    this.#render();
  }

  clear() {
    this.#items = [];
    this.#render();
  }

  #render() {
    $('unread').hidden = this.#items.length === 0;
    $('unread-title').textContent = `Not read: ${count(this.#items.length, 'file')}`;
    $('unread-list').replaceChildren(...this.#items.map((item) => h('li', {},
      h('b', { class: 'file' }, item.source),
      h('span', { class: 'place' }, place(item)),
      h('span', { class: 'what' }, sentence(item.what)),
      h('span', { class: 'mend' }, mend(item)),
      isTable(item) && h('button', { type: 'button', class: 'small', 'aria-label': `Name the columns of ${item.source}`, onclick: () => this.#name(item.from) }, 'Name the columns…'),
      h('button', { type: 'button', class: 'small', 'aria-label': `Dismiss ${item.source}`, onclick: () => this.#dismiss(item) }, 'Dismiss'))));
  }

  #dismiss(item) {
    this.#items = this.#items.filter((other) => other !== item);
    this.#render();
    if (this.#items.length) $('unread-title').focus();
    else $('lot-title').focus();
  }
}

/** What to do: where the mend names an option of the terminal, the page has a way of its own. */
function mend(item) {
  return isTable(item) && item.mend.includes('--read') ? 'Name the columns here, or in a first row of the file.' : item.mend;
}

/** Whether it is a file that was read as one table: what is wrong may be its columns. */
function isTable({ source, from, line, mend }) {
  return source === from.name && from.file.size > 0 && (line !== null || mend.includes('--read') || mend.includes('heading'));
}
