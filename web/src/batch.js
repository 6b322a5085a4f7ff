// Whether a batch that was bought is taken or sent back as a whole.
import { $, h } from './dom.js';
import { QUALITY_LEVELS, batch } from './engine.js';
import { local } from './local.js';

const KEY = 'sweepbook/batch/1';
/** The level that is offered first, percent of faulty tubes. */
const USUAL = 4;

/** The panel that asks how many were bought. */
export class BatchView {
  #entries;

  /** `entries()` are the tubes. */
  constructor(entries) {
    this.#entries = entries;
    $('batch-aql').append(...QUALITY_LEVELS.map((level) => h('option', { value: level }, `${level.toLocaleString()} %`)));
    const kept = recall();
    $('batch-bought').value = kept.bought ?? '';
    $('batch-aql').value = QUALITY_LEVELS.includes(kept.aql) ? kept.aql : USUAL;
    for (const id of ['batch-bought', 'batch-aql']) {
      $(id).addEventListener('input', () => {
        remember({ bought: $('batch-bought').value, aql: Number($('batch-aql').value) });
        this.show();
      });
    }
    $('batch').addEventListener('toggle', () => this.show());
  }

  /** Says what follows from the tubes as they are now. */
  show() {
    if (!$('batch').open) return;
    const text = $('batch-bought').value.trim();
    const bought = Number(text);
    const whole = Number.isSafeInteger(bought) && bought >= 2 && bought < 2 ** 32;
    $('batch-bad').hidden = text === '' || whole;
    $('batch-bought').setAttribute('aria-invalid', String(text !== '' && !whole));
    const decided = this.#entries().map(({ own, sheet }) => own ?? sheet.verdict);
    const of = (...verdicts) => decided.filter((verdict) => verdicts.includes(verdict)).length;
    const answer = whole ? batch(bought, Number($('batch-aql').value), of('reject'), of('accept', 'restrict')) : undefined;
    const { says } = local(JSON.parse(answer ?? '{"says":[]}'));
    $('batch-says').replaceChildren(...says.map((sentence, i) => h('span', { class: i === 1 ? 'batch-outcome' : null }, `${sentence} `)));
  }
}

function recall() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    return kept && typeof kept === 'object' ? kept : {};
  } catch {
    return {};
  }
}

function remember(what) {
  try {
    localStorage.setItem(KEY, JSON.stringify(what));
  } catch {
    // Refused or full: it is entered again.
  }
}
