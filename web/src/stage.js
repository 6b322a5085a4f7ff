// The tubes of the lot in a stage that the user describes.
import { $, NOT_AT_HAND, announce, h } from './dom.js';
import { local } from './local.js';

const HEADS = ['Plate current', 'Plate to cathode', 'Grid to cathode', 'Gain', 'Output resistance', 'Most output, peak', 'Second harmonic', 'Heat of the plate'];
/** What the fields are called in what is said of them. */
const FIELDS = { supply: 'Supply', load: 'What feeds the plate', bias: 'The cathode', into: 'It drives', swing: 'Distortion at', 'grid-resistor': 'Grid resistor' };

/** The dialog. */
export class StageView {
  #entries;
  #work;

  /** `entries()` are all tubes and the ticked ones; `work(ids, form)` resolves to a text. */
  constructor(entries, work) {
    this.#entries = entries;
    this.#work = work;
    $('stage-open').addEventListener('click', () => {
      $('stage-result').replaceChildren();
      this.#bad(null);
      const { ticked } = this.#entries();
      $('stage-among').value = ticked.length > 0 ? 'ticked' : 'all';
      $('stage-among').parentElement.hidden = ticked.length === 0;
      $('stage').showModal();
    });
    $('stage-done').addEventListener('click', () => $('stage').close());
    $('stage-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#show();
    });
  }

  #bad(text) {
    $('stage-bad').textContent = text ?? '';
    $('stage-bad').hidden = !text;
  }

  async #show() {
    const form = Object.fromEntries(new FormData($('stage-form')));
    const of = this.#entries()[$('stage-among').value];
    const text = await this.#work(of.map(({ id }) => id), form);
    const said = local(JSON.parse(text ?? 'null'));
    if (!said) {
      this.#bad(NOT_AT_HAND);
      return;
    }
    if (said.wrong) {
      const { field, what } = said.wrong;
      this.#bad(`${FIELDS[field] ?? field}: ${what}.`);
      $('stage-form').elements.namedItem(field)?.focus();
      return;
    }
    this.#bad(null);
    const { rows, spread } = said.works;
    $('stage-result').replaceChildren(...[
      spread && h('p', {}, spread),
      h('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': 'Each section' }, h('table', {},
        h('thead', {}, h('tr', {}, h('th', { scope: 'col' }, 'Section'), HEADS.map((head) => h('th', { scope: 'col' }, head)))),
        h('tbody', {}, rows.flatMap(sectionRows)))),
      h('p', { class: 'soft' }, 'Plate supplies kill. Building and measuring a stage follow the electrical rules of the place where you are; leave it to qualified people where you are in doubt.'),
    ].filter(Boolean));
    $('stage-result').focus();
    announce(spread ?? 'No section works in this stage');
  }
}

function sectionRows({ name, cells, hot, says }) {
  const heat = (i) => hot && i === HEADS.length - 1;
  return [
    h('tr', {}, h('th', { scope: 'row' }, name),
      cells.length ? cells.map((cell, i) => h('td', { class: heat(i) ? 'digits error' : 'digits' }, cell, heat(i) && ': too hot')) : h('td', { colspan: HEADS.length }, says)),
    ...(cells.length ? says.map((text) => h('tr', {}, h('td', { colspan: HEADS.length + 1, class: 'at' }, text))) : []),
  ];
}
