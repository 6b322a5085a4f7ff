// Tubes laid over each other, their differences from one of them, and their figures side by side: several sweeps of one
// tube show what time did to it.
import { $, NOT_AT_HAND, announce, h } from './dom.js';
import { COLUMNS, verdictOf } from './engine.js';
import { local } from './local.js';
import { verdictShape } from './shapes.js';

/** Size of the picture, CSS pixels. */
const SIZE = { width: 760, height: 400 };
/** Most that are laid over each other: more curves are not told apart. */
const MOST = 6;

/** The dialog. */
export class CompareView {
  #on;
  #entries = [];
  /** Which of them the others are held against. */
  #first = null;
  #url = null;
  #serial = 0;

  /** `on.overlay(members, size)` and `on.differences(members, size)` resolve to texts. */
  constructor(on) {
    this.#on = on;
    $('compare-open').addEventListener('click', () => this.#open());
    $('compare-done').addEventListener('click', () => $('compare').close());
    $('compare').addEventListener('close', () => this.#free());
    $('compare-from').addEventListener('change', () => {
      this.#first = this.#entries[Number($('compare-from').value)];
      this.#show();
    });
    $('compare-as').addEventListener('change', () => this.#show());
  }

  /** Those tubes are ticked. */
  ticked(entries) {
    this.#entries = entries;
    $('compare-open').disabled = entries.length < 2 || entries.length > MOST;
    $('compare-open').title = entries.length > MOST ? `At most ${MOST} tubes are told apart in one picture` : '';
  }

  #open() {
    [this.#first] = this.#entries;
    $('compare-from').replaceChildren(...this.#entries.map((entry, i) => h('option', { value: i }, named(entry, this.#entries))));
    $('compare').showModal();
    $('compare-title').focus();
    this.#show();
  }

  async #show() {
    const serial = ++this.#serial;
    const those = [this.#first, ...this.#entries.filter((entry) => entry !== this.#first)];
    const differ = document.querySelector('[name=compare-as]:checked').value === 'difference';
    this.#figures(those);
    this.#trends();
    const members = those.map(({ id }) => [id, null]);
    const [overlay, text] = await Promise.all([differ ? null : this.#on.overlay(members, SIZE), this.#on.differences(members, SIZE)]);
    // Something else is asked for by now.
    if (serial !== this.#serial) return;
    $('compare-bad').hidden = Boolean(text);
    $('compare-bad').textContent = text ? '' : NOT_AT_HAND;
    const { svg, rows } = local(JSON.parse(text ?? '{"svg":null,"rows":[]}'));
    this.#draw(differ ? svg : overlay, differ);
    $('compare-rows').replaceChildren(...rows.map(({ name, from, more, largest, points }) => h('tr', {},
      h('th', { scope: 'row' }, name), h('td', {}, from), h('td', { class: 'digits' }, more ?? '\u2013'),
      h('td', { class: 'digits' }, largest ?? '\u2013'), h('td', { class: 'digits' }, points))));
    const without = rows.filter(({ points }) => points === 0).length;
    $('compare-none').hidden = rows.length > 0 && without === 0;
    announce(differ ? 'Differences are shown' : 'Curves are laid over each other');
  }

  #draw(svg, differ) {
    this.#free();
    const names = this.#entries.map((entry) => named(entry, this.#entries)).join(', ');
    if (!svg) {
      $('compare-picture').replaceChildren(h('p', { class: 'soft' }, 'There is nothing to draw: the sweeps have no common points.'));
      return;
    }
    this.#url = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
    const alt = differ ? `How the plate currents of ${names} differ` : `The curves of ${names}, laid over each other`;
    $('compare-picture').replaceChildren(h('img', { src: this.#url, alt, ...SIZE }));
  }

  /** The figures of each, and how far they are from those of the first. */
  #figures(those) {
    const [first] = those;
    const cell = (entry, i) => {
      const [own, from] = [entry.row.cells[i], first.row.cells[i]];
      const change = entry !== first && own && from && from.by ? own.by / from.by - 1 : null;
      return h('td', { class: 'digits' }, own?.says ?? '\u2013',
        change !== null && i < COLUMNS.length - 1 && h('span', { class: 'at' }, `lowest ${signed(change)}`));
    };
    $('compare-heads').replaceChildren(h('th', { scope: 'col' }, 'Tube'), h('th', { scope: 'col' }, 'Verdict'),
      ...COLUMNS.map(({ head, says }) => h('th', { scope: 'col', title: says }, head)));
    $('compare-figures').replaceChildren(...those.map((entry) => h('tr', {},
      h('th', { scope: 'row' }, named(entry, those), h('span', { class: 'at' }, [entry.sheet.kind, when(entry)].filter(Boolean).join(' \u00b7 '))),
      h('td', {}, verdictShape(entry.sheet.verdict, 14), ` ${verdictOf(entry.sheet.verdict).word}`),
      COLUMNS.map((_, i) => cell(entry, i)))));
  }

  /** What time did to a tube that was swept more than once. */
  #trends() {
    const tubes = new Map();
    for (const entry of this.#entries) {
      const is = `${entry.sheet.tube}\n${entry.sheet.kind ?? ''}`;
      tubes.set(is, [...tubes.get(is) ?? [], entry]);
    }
    const several = [...tubes.values()].filter((sweeps) => sweeps.length > 1);
    $('compare-trends').replaceChildren(...several.map((sweeps) => h('p', {}, trend(sweeps))));
  }

  #free() {
    if (this.#url) URL.revokeObjectURL(this.#url);
    this.#url = null;
  }
}

const signed = (share) => local(`${share < 0 ? '\u2212' : '+'}${Math.abs(100 * share).toFixed(1)} %`);

/** A tube's name; with its file where several have it. */
function named({ sheet }, among) {
  const name = sheet.tube || 'unnamed';
  return among.filter((other) => other.sheet.tube === sheet.tube).length > 1 ? `${name} (${sheet.source.join(', ')})` : name;
}

/** When it was measured, as its file says it. */
const when = ({ sheet }) => sheet.notes.find((note) => /^date\b/i.test(note)) ?? '';

/** How the figures of one tube went, from its first sweep to its last: by their dates where all say one, else as they were read. */
function trend(sweeps) {
  const dated = sweeps.every((sweep) => when(sweep));
  const order = dated ? [...sweeps].sort((a, b) => when(a).localeCompare(when(b), undefined, { numeric: true })) : sweeps;
  const went = COLUMNS.slice(0, -1).map(({ head }, i) => {
    const values = order.map(({ row }) => row.cells[i]?.by);
    return values.every((value) => value) ? `${head} ${values.slice(1).map((value) => signed(value / values[0] - 1)).join(', ')}` : null;
  }).filter(Boolean);
  const says = went.length ? `, lowest section, against the first: ${went.join('; ')}.` : ': too little could be measured to say how it went.';
  return `${order[0].sheet.tube || 'unnamed'}, ${order.length} sweeps ${dated ? 'by their dates' : 'in the order in which they were read'}${says}`;
}
