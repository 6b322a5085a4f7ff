// What could not be read, where, and how to mend it.
import { $, count, h, place, sentence } from './dom.js';

/** The list of files that could not be read. */
export class Unread {
  #items = [];

  get items() { return this.#items; }

  add(items) {
    this.#items.push(...items);
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
