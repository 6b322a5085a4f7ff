// One decision on several tubes at once, as one act: undone as one.
import { $, announce, count, h, sentence } from '../dom.js';
import { VERDICTS, verdictOf } from '../engine.js';
import { verdictShape } from '../shapes.js';

/** The dialog that asks for it. */
export class Many {
  #notebook;
  #on;
  #entries = [];

  /** `on.needed(entries)` resolves to the notebook's tubes of those entries, a notebook being begun where there is none. */
  constructor(notebook, on) {
    this.#notebook = notebook;
    this.#on = on;
    $('many-choices').append(...VERDICTS.toReversed().map(({ name, word }) => h('label', { class: 'chip' },
      h('input', { type: 'radio', name: 'many-choice', value: name }), verdictShape(name, 14), h('span', {}, word))));
    $('many-open').addEventListener('click', () => this.#open());
    $('many-cancel').addEventListener('click', () => $('many').close());
    $('many-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#decide();
    });
  }

  /** Those tubes are ticked. */
  ticked(entries) {
    this.#entries = entries;
    $('many-open').disabled = entries.length === 0;
  }

  #open() {
    const said = VERDICTS.map(({ name, word }) => [this.#entries.filter(({ sheet }) => sheet.verdict === name).length, word.toLowerCase()]);
    const says = said.filter(([n]) => n > 0).map(([n, word]) => `${n} ${word}`).join(', ');
    $('many-of').textContent = `${count(this.#entries.length, 'tube')}, of which the sweeps say: ${says}.`;
    $('many-reason').value = '';
    for (const input of $('many-choices').querySelectorAll('input')) input.checked = false;
    this.#bad(null);
    $('many').showModal();
    $('many-title').focus();
  }

  async #decide() {
    const decision = document.querySelector('[name=many-choice]:checked')?.value;
    if (!decision) {
      this.#bad({ what: 'nothing is chosen', mend: 'Choose what to do with the tubes.' });
      $('many-choices').querySelector('input').focus();
      return;
    }
    const reason = $('many-reason').value.trim();
    const tubes = await this.#on.needed(this.#entries);
    const said = new Map(this.#entries.map((entry, i) => [tubes[i]?.id, entry.sheet.verdict]));
    const refused = this.#notebook.record([...said].filter(([tube]) => tube).map(([tube, says]) => ({ do: 'decide', tube, decision, reason, said: says })));
    if (refused) {
      this.#bad(refused);
      $('many-reason').focus();
      return;
    }
    $('many').close();
    announce(`Your decision on ${count(said.size, 'tube')}: ${verdictOf(decision).word}`);
  }

  #bad(refused) {
    $('many-bad').hidden = !refused;
    $('many-bad').textContent = refused ? `${sentence(refused.what)} ${refused.mend}` : '';
    $('many-reason').setAttribute('aria-invalid', String(Boolean(refused)));
  }
}
