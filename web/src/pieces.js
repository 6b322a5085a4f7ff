// Pieces of one tube in several files: shown, and put together if their user says so.
import { $, announce, count, h } from './dom.js';

/** The offers to put pieces together. */
export class PiecesView {
  #offers = [];
  /** What was answered for these files before: true to put together. */
  #answered = new Map();
  #on;

  /** `on.join(ids)` to put tubes together, `on.done()` when nothing is open any more. */
  constructor(on) {
    this.#on = on;
    $('pieces-all').addEventListener('click', () => this.#answer(this.#offers, true));
  }

  /**
   * What may be put together by now: `[{ids, tube, says}]`. What was agreed to before is done at
   * once, and what `kept(one)` says is so in the notebook.
   */
  offer(all, kept = () => false) {
    for (const one of all) if (!this.#answered.has(one.says) && kept(one)) this.#answered.set(one.says, true);
    const agreed = all.filter(({ says }) => this.#answered.get(says));
    this.#offers = all.filter(({ says }) => !this.#answered.has(says));
    this.#render();
    for (const { ids } of agreed) this.#on.join(ids);
  }

  /** Was put together by its user's word; from now on it is apart. */
  part(sources) {
    for (const says of this.#answered.keys()) if (sources.every((source) => says.includes(source))) this.#answered.set(says, false);
  }

  clear() {
    this.#offers = [];
    this.#answered.clear();
    this.#render();
  }

  #answer(those, together) {
    for (const { says } of those) this.#answered.set(says, together);
    this.#offers = this.#offers.filter((offer) => !those.includes(offer));
    this.#render();
    if (together) for (const { ids } of those) this.#on.join(ids);
    announce(together ? `Put together: ${those.map(({ tube }) => tube).join(', ')}` : 'Kept apart');
    if (this.#offers.length) $('pieces-title').focus();
    else this.#on.done();
  }

  #render() {
    $('pieces').hidden = this.#offers.length === 0;
    $('pieces-title').textContent = `${count(this.#offers.length, 'tube')} may lie in pieces in several files`;
    $('pieces-all').hidden = this.#offers.length < 2;
    $('pieces-list').replaceChildren(...this.#offers.map((offer) => h('li', {},
      h('b', {}, offer.tube), h('span', {}, `would be ${offer.says}.`),
      h('button', { type: 'button', class: 'small', 'aria-label': `Put together: ${offer.tube}`, onclick: () => this.#answer([offer], true) }, 'Put together'),
      h('button', { type: 'button', class: 'small', 'aria-label': `Keep apart: the files of ${offer.tube}`, onclick: () => this.#answer([offer], false) }, 'Keep apart'))));
  }
}
