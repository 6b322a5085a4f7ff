// The lots of the notebook: where tubes were bought, and which lot each is in.
import { $, announce, h, sentence } from '../dom.js';

const FIELDS = ['name', 'seller', 'reference', 'price', 'currency', 'bought-on', 'bought', 'note'];
const nameOf = (lot) => lot.fields.name?.value ?? 'unnamed';

/** The panel of lots, and the choice of a tube's lot. */
export class Lots {
  #notebook;
  #tube = null;

  /** `needed()` resolves to the notebook's tube of the sheet. */
  constructor(notebook, needed) {
    this.#notebook = notebook;
    $('lots-open').addEventListener('click', () => this.#open(this.#tube?.lot?.value));
    $('lots-which').addEventListener('change', (event) => this.#fill(event.target.value));
    $('lots-form').addEventListener('submit', (event) => this.#submitted(event));
    $('lots-done').addEventListener('click', () => $('lots').close());
    $('own-lot').addEventListener('change', async ({ target }) => {
      const to = target.value || null;
      const tube = await needed();
      const refused = tube && this.#notebook.record([{ do: 'move-tube', tube: tube.id, lot: to }]);
      if (tube) announce(refused ? `${refused.what}. ${refused.mend}` : to ? 'The tube is moved' : 'The tube is in no lot');
    });
  }

  /** The lot of the tube on the sheet. */
  show(tube) {
    this.#tube = tube ?? null;
    const lots = this.#notebook.shown?.lots ?? [];
    $('own-in').hidden = lots.length === 0;
    this.#choice($('own-lot'), 'no lot', tube?.lot?.value ?? '');
    const also = tube?.lot?.also?.map(({ value }) => lots.find(({ id }) => id === value)).filter(Boolean) ?? [];
    $('own-lot-also').textContent = also.length ? `Also said: ${also.map(nameOf).join(', ')}` : '';
  }

  #choice(select, none, chosen) {
    const lots = this.#notebook.shown?.lots ?? [];
    select.replaceChildren(h('option', { value: '' }, none), ...lots.map((lot) => h('option', { value: lot.id }, nameOf(lot))));
    select.value = chosen;
  }

  #open(lot) {
    const { lots } = this.#notebook.shown;
    this.#fill(lot ?? lots.at(-1)?.id ?? '');
    $('lots').showModal();
    $('lots-title').focus();
  }

  #fill(id) {
    this.#choice($('lots-which'), 'A new one', id);
    const lot = this.#notebook.shown.lots.find((one) => one.id === id);
    for (const field of FIELDS) $(`lots-${field}`).value = lot?.fields[field]?.value ?? '';
    $('lots-also').replaceChildren(...FIELDS.flatMap((field) => (lot?.fields[field]?.also ?? []).map(({ value }) => h('li', {}, `${$(`lots-${field}`).labels[0].firstChild.data.trim()}, also said: ${value}`))));
    this.#bad(null);
  }

  #submitted(event) {
    event.preventDefault();
    const id = $('lots-which').value;
    const lot = this.#notebook.shown.lots.find((one) => one.id === id);
    const value = (field) => $(`lots-${field}`).value.trim();
    const acts = [];
    let target = id;
    if (!lot) {
      [target] = this.#notebook.next(1);
      acts.push({ do: 'add-lot', name: value('name') });
    }
    for (const field of FIELDS) {
      if (value(field) !== (lot?.fields[field]?.value ?? (field === 'name' ? value(field) : ''))) acts.push({ do: 'set-lot', lot: target, field, to: value(field) });
    }
    // Tubes that are in no lot yet come into the first one.
    if (!lot && this.#notebook.shown.lots.length === 0) {
      for (const tube of this.#notebook.shown.tubes) acts.push({ do: 'move-tube', tube: tube.id, lot: target });
    }
    const refused = acts.length ? this.#notebook.record(acts.slice(0, 1000)) : null;
    if (refused) {
      this.#bad(refused, refused.what.includes('how many') ? 'bought' : refused.what.includes('name') ? 'name' : null);
      return;
    }
    this.#fill(target);
    announce(`${value('name')} is kept`);
  }

  #bad(refused, field) {
    for (const one of FIELDS) $(`lots-${one}`).setAttribute('aria-invalid', String(one === field));
    $('lots-bad').hidden = !refused;
    $('lots-bad').textContent = refused ? `${sentence(refused.what)} ${refused.mend}` : '';
    if (field) $(`lots-${field}`).focus();
  }
}
