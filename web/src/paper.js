// The report on paper: who it goes to, which tubes, and the file to print.
import { $, NOT_AT_HAND, announce, count, h, save } from './dom.js';

/** What was entered stays from one report to the next. */
const KEY = 'sweepbook/paper/1';
const FIELDS = ['seller', 'reference', 'date', 'by', 'words'];
/** What a lot says of the one who sold it. */
const LOT_WORDS = { seller: 'To', reference: 'Reference' };
const OF_LOT = Object.keys(LOT_WORDS);
const FAULTY = new Set(['reject', 'restrict']);

/** Characters of a file's name that are kept of a tube's. */
const plain = (name) => name.replace(/[^\p{L}\p{N}_-]+/gu, '-').slice(0, 50) || 'tube';

/** The dialog that asks for it. */
export class PaperView {
  #entries;
  #on;
  /** Of the seller's fields: those that were written in since the last report, and what a lot gave the others. */
  #own = new Set();
  #filled = new Map();

  /** `entries()` are the tubes, the chosen one and the ticked ones; `on.write(ids, said)` has the report written and resolves to its text, `on.lot(entry)` is the notebook's lot that a tube is in. */
  constructor(entries, on) {
    this.#entries = entries;
    this.#on = on;
    $('paper-open').addEventListener('click', () => this.#open());
    $('paper-which').addEventListener('change', () => this.#bought());
    for (const field of OF_LOT) $(`paper-${field}`).addEventListener('input', () => this.#own.add(field));
    $('paper-cancel').addEventListener('click', () => $('paper').close());
    $('paper-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#write();
    });
  }

  #open() {
    const { all, chosen, ticked } = this.#entries();
    const faulty = all.filter(({ sheet }) => FAULTY.has(sheet.verdict));
    const choices = [
      ['ticked', 'The ticked tubes', ticked.length],
      ['this', `Tube ${chosen?.sheet.tube ?? ''}`, chosen ? 1 : 0],
      ['faulty', 'Every tube with a fault or a restriction', faulty.length],
      ['all', 'All tubes', all.length],
    ].filter(([, , n]) => n > 0);
    $('paper-which').replaceChildren(h('legend', {}, 'Which tubes'), ...choices.map(([name, words, n], i) => h('label', { class: 'check' },
      h('input', { type: 'radio', name: 'which', value: name, checked: i === 0 }), ` ${words}`, name === 'this' ? '' : ` (${n})`)));
    for (const field of FIELDS.filter((one) => !OF_LOT.includes(one))) $(`paper-${field}`).value ||= this.#kept()[field] ?? '';
    this.#bought();
    $('paper-date').value ||= new Date().toLocaleDateString(undefined, { dateStyle: 'long' });
    $('paper-bad').hidden = true;
    $('paper').showModal();
  }

  /** The tubes that are asked for. */
  #wanted() {
    const { all, chosen, ticked } = this.#entries();
    const which = new FormData($('paper-form')).get('which');
    return { which, those: { this: [chosen], ticked, all, faulty: all.filter(({ sheet }) => FAULTY.has(sheet.verdict)) }[which] };
  }

  /** Fills in the seller's fields from the lot of the tubes, where all are of one; what the user wrote stays. */
  #bought() {
    const lots = new Set(this.#wanted().those.map((entry) => this.#on.lot(entry)));
    const lot = lots.size === 1 ? [...lots][0] : null;
    const fields = OF_LOT.filter((field) => !this.#own.has(field));
    for (const field of fields) {
      const input = $(`paper-${field}`);
      // What came from another lot must not stand for these tubes.
      const before = input.value === this.#filled.get(field) ? '' : input.value;
      const given = lot?.fields[field]?.value ?? '';
      input.value = lot ? given : before || (this.#kept()[field] ?? '');
      this.#filled.set(field, given || null);
    }
    const taken = fields.filter((field) => this.#filled.get(field)).map((field) => LOT_WORDS[field]);
    $('paper-lot').hidden = taken.length === 0;
    $('paper-lot').textContent = taken.length ? `${taken.join(' and ')}: from ${lot.fields.name?.value || 'the lot'} in your notebook.` : '';
  }

  #kept() {
    try {
      const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}');
      return kept && typeof kept === 'object' ? kept : {};
    } catch {
      return {};
    }
  }

  async #write() {
    const { which, those } = this.#wanted();
    const said = Object.fromEntries(FIELDS.map((field) => [field, $(`paper-${field}`).value]));
    try {
      // Of the date and the words the next report has its own.
      localStorage.setItem(KEY, JSON.stringify({ seller: said.seller, by: said.by }));
    } catch {
      // Refused or full: they are entered again.
    }
    $('paper-write').disabled = true;
    const text = await this.#on.write(those.map(({ id }) => id), said);
    $('paper-write').disabled = false;
    $('paper-bad').hidden = Boolean(text);
    if (!text) {
      $('paper-bad').textContent = NOT_AT_HAND;
      return;
    }
    save(`report-${which === 'this' ? plain(those[0].sheet.tube) : 'lot'}.html`, 'text/html', text);
    this.#own.clear();
    $('paper').close();
    announce(`The report on ${count(those.length, 'tube')} is saved: open it and print it`);
  }
}
