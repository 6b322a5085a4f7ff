// What could not be read, where, and how to mend it.
import { $, count, h, place, sentence } from './dom.js';

/** The list of files that could not be read. */
export class Unread {
  #items = [];

  /** As the report lists them. */
  get items() { return this.#items.map(({ key, ...item }) => item); }

  /** What of one file was not read, in the place of what was said of it before. */
  of(key, items) {
    const at = this.#items.findIndex((item) => item.key === key);
    const others = this.#items.filter((item) => item.key !== key);
    others.splice(at < 0 ? others.length : at, 0, ...items.map((item) => ({ ...item, key })));
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
      h('span', { class: 'mend' }, item.mend),
      h('button', { type: 'button', class: 'small', 'aria-label': `Dismiss ${item.source}`, onclick: () => this.#dismiss(item) }, 'Dismiss'))));
  }

  #dismiss(item) {
    this.#items = this.#items.filter((other) => other !== item);
    this.#render();
    if (this.#items.length) $('unread-title').focus();
    else $('lot-title').focus();
  }
}
