// What a file leaves open: a panel each, with the readings that fit side by side.
import { $, announce, count, h, place, sentence } from './dom.js';
import { preview } from './preview.js';
import { forgetReading, recall, remember } from './remembered.js';

// Panels at a time; the others follow as these are answered.
const MOST_PANELS = 5;
const COLUMNS = ['Va', 'Vg', 'Ia'];

/** The open questions. */
export class Questions {
  #open = [];
  #on;

  /** `on.answer([{item, choice}])` once the user said how, `on.leave(item)` where not. */
  constructor(on) {
    this.#on = on;
  }

  /** The questions as the report lists them. */
  get refusals() { return this.#open.filter(({ item }) => !item.instead.length || item.partly).map(({ question }) => question.refusal); }
  get any() { return this.#open.length > 0; }
  get words() { return this.any ? `${count(this.#open.length, 'file waits', 'files wait')} for an answer` : ''; }

  /** A file asks; its earlier question is answered by that. */
  add(question, item) {
    const one = { question, item, busy: false, chosen: offered(question, item) };
    const at = this.#at(item.key);
    if (at >= 0) this.#open.splice(at, 1, one);
    else this.#open.push(one);
    this.#render();
  }

  /** A file was read, or cannot be: it asks no more. */
  settle(key) {
    this.#open = this.#open.filter(({ item }) => item.key !== key);
    this.#render();
  }

  /** Goes to the question of a file, or to the first one; whether there is one. */
  focus(key = this.#open[0]?.item.key) {
    const title = this.#at(key) < 0 ? null : $(`question-title-${key}`) ?? $('questions-title');
    title?.focus();
    return Boolean(title);
  }

  /** Whether a file asks. */
  asks(key) { return this.#at(key) >= 0; }

  /** Whether a table of this file asks while others of it are read. */
  partly(key) { return this.#open.some(({ item }) => item.key === key && item.partly); }

  /** Whether the focus is in the panel of a file. */
  holds(key) { return Boolean(document.activeElement?.closest(`#question-${key}`)); }

  /** What was on its way was stopped: everything can be answered again. */
  idle() {
    for (const one of this.#open) one.busy = false;
    this.#render();
  }

  clear() {
    this.#open = [];
    this.#render();
  }

  #at(key) { return this.#open.findIndex(({ item }) => item.key === key); }

  #render() {
    $('questions').hidden = !this.any;
    const left = this.#open.length - MOST_PANELS;
    $('questions-title').textContent = `${count(this.#open.length, 'file')} can be read in more than one way`;
    $('questions-more').textContent = left > 0 ? `${count(left, 'more file')} after these.` : '';
    // A panel that stays is not made anew: what is chosen and focused in it stays.
    const panels = this.#open.slice(0, MOST_PANELS).map((one) => { one.panel ??= this.#panel(one); return one.panel; });
    const list = $('questions-list');
    for (const old of [...list.children]) if (!panels.includes(old)) old.remove();
    panels.forEach((panel, i) => { if (list.children[i] !== panel) list.insertBefore(panel, list.children[i] ?? null); });
    for (const one of this.#open) this.#dress(one);
  }

  /** Files not yet read with the same headings and the same answers to choose from. */
  #like({ item, question }) {
    const options = ({ candidates }) => candidates.map(({ option }) => option).join();
    return this.#open.filter((other) => other.item.key !== item.key && !other.busy && (!other.item.instead.length || other.item.partly)
      && other.question.shape === question.shape && options(other.question) === options(question));
  }

  /** What changes while a panel stands. */
  #dress(one) {
    const { panel, busy } = one;
    if (!panel) return;
    panel.setAttribute('aria-busy', String(busy));
    const [read, all] = panel.querySelectorAll('[type=submit]');
    read.textContent = busy ? 'Reading…' : 'Read it this way';
    const like = this.#like(one).length;
    all.hidden = busy || like === 0;
    all.textContent = `Read it and ${like} like it this way`;
  }

  #panel(one) {
    const { item, item: { key }, question } = one;
    const prior = h('p', { class: 'prior' });
    const form = h('form', { class: 'question', 'aria-labelledby': `question-title-${key}`, onsubmit: (event) => this.#submitted(event, one) },
      h('h3', { id: `question-title-${key}`, tabindex: '-1' }, h('span', { class: 'file' }, question.source), place(question) && h('span', { class: 'place' }, place(question))),
      h('p', { class: 'what' }, sentence(question.what), ' Which is it?', question.tables > 1 && ` The answer counts for every table in this file that asks the same.`),
      prior,
      h('fieldset', {}, h('legend', { class: 'unseen' }, 'How to read it'),
        question.candidates.map((choice, i) => candidate(choice, one, i))),
      h('p', { class: 'ways' },
        h('button', { class: 'primary', type: 'submit' }),
        h('button', { type: 'submit', name: 'all', hidden: true }),
        h('button', { type: 'button', onclick: () => this.#leave(one) }, leaving(one))));
    if (one.chosen) {
      prior.append(one.chosen.why, one.chosen.forget && h('button', {
        type: 'button', class: 'small', onclick: () => {
          forgetReading(question.shape);
          for (const input of form.querySelectorAll('input')) input.checked = false;
          prior.remove();
          form.querySelector('input').focus();
          announce('Forgotten');
        },
      }, 'Forget that answer') || '');
    } else prior.remove();
    return h('li', { id: `question-${key}` }, form);
  }

  #submitted(event, one) {
    event.preventDefault();
    const option = new FormData(event.target).get(`reading-${one.item.key}`);
    if (one.busy || !option) return;
    const those = event.submitter?.name === 'all' ? [one, ...this.#like(one)] : [one];
    remember(one.question.shape, one.question.source, option);
    for (const other of those) other.busy = true;
    // The other button goes; the focus must not go with it.
    event.target.querySelector('.primary').focus();
    // What was just answered is offered to the files like it.
    for (const other of this.#like(one).filter(({ panel }) => !panel?.querySelector(':checked'))) {
      other.chosen = offered(other.question, other.item);
      other.panel = undefined;
    }
    this.#render();
    this.#on.answer(those.map(({ item, question }) => ({ item, choice: question.candidates.find((c) => c.option === option) })));
  }

  #leave({ item, busy }) {
    if (busy) return;
    this.settle(item.key);
    this.#on.leave(item);
  }
}

/** The answer that is chosen beforehand, and why; nothing where there is none. */
function offered({ candidates, shape }, { before = [] }) {
  const among = (options) => candidates.find(({ option }) => options.includes(option))?.option;
  const now = among(before);
  if (now) return { option: now, why: 'Chosen as it is read now.', forget: false };
  const reading = recall(shape);
  const option = reading && among(reading.options);
  return option && { option, why: `Chosen as you answered for ${reading.file}, which has the same headings.`, forget: true };
}

/** What not answering does. */
function leaving({ item: { instead, partly } }) {
  if (partly) return 'Leave this table out';
  return instead.length ? 'Keep it as it is read' : 'Leave this file out';
}

function candidate({ option, says, points, rows, differs, tube }, { item: { key }, chosen }, place) {
  const id = `reading-${key}-${place}`;
  const canvas = h('canvas', { 'aria-hidden': 'true' });
  preview(canvas, tube);
  const cell = (text, i) => h('td', { class: differs[i] ? 'differs' : null }, text);
  return h('div', { class: 'candidate' },
    h('label', { for: id },
      h('input', { type: 'radio', id, name: `reading-${key}`, value: option, required: true, checked: chosen?.option === option }),
      h('span', {}, sentence(says), ' ', h('code', {}, option))),
    h('div', { class: 'shown' },
      h('table', { class: 'points' },
        h('caption', {}, rows.length < points ? `${rows.length} of ${count(points, 'point')}` : count(points, 'point')),
        h('thead', {}, h('tr', {}, COLUMNS.map((name) => h('th', { scope: 'col' }, name)))),
        h('tbody', {}, rows.map((row) => h('tr', {}, row.map(cell))))),
      canvas));
}
