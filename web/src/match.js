// Like tubes put together: pairs, quads, larger groups, with their curves laid over each other.
import { $, NOT_AT_HAND, announce, count, h } from './dom.js';

/** Size of an overlay, CSS pixels. */
const OVERLAY = { width: 704, height: 360 };
const WEIGHTS = { both: [1, 1], current: [1, 0], gm: [0, 1] };

const percent = (fraction) => `${(100 * fraction).toLocaleString(undefined, { minimumFractionDigits: 1, maximumFractionDigits: 1 })} %`;
const volts = (v, digits = 3) => `${v.toLocaleString(undefined, { maximumSignificantDigits: digits })} V`;
const bias = (v) => `${(1000 * v).toLocaleString(undefined, { maximumFractionDigits: v < 0.01 ? 1 : 0 })} mV`;
const name = ({ name: tube, section }) => (section === null ? tube : `${tube}, section ${section}`);

/** The dialog. */
export class MatchView {
  #entries;
  #on;
  /** The tubes of which the groups are shown. */
  #of = [];
  #urls = [];

  /** `entries()` are all tubes and the ticked ones; `on.match(ids, wanted)` and `on.overlay(members, size)` resolve to texts, `on.choose(entry)` opens one. */
  constructor(entries, on) {
    this.#entries = entries;
    this.#on = on;
    $('match-open').addEventListener('click', () => {
      $('match-result').replaceChildren();
      $('match-bad').hidden = true;
      const { ticked } = this.#entries();
      $('match-among').value = ticked.length > 1 ? 'ticked' : 'all';
      $('match-among').parentElement.hidden = ticked.length < 2;
      $('match').showModal();
    });
    $('match-done').addEventListener('click', () => $('match').close());
    $('match').addEventListener('close', () => this.#free());
    $('match-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#match();
    });
  }

  /** The operating point that was entered: nothing for the usual one, undefined where it is none. */
  #place() {
    const [va, vg] = ['match-va', 'match-vg'].map((id) => $(id).value.trim().replace(',', '.').replace('\u2212', '-'));
    if (!va && !vg) return null;
    const place = { va: Number(va), vg: Number(vg) };
    return va && vg && Number.isFinite(place.va) && Number.isFinite(place.vg) && place.va > 0 ? place : undefined;
  }

  async #match() {
    const place = this.#place();
    if (place === undefined) {
      this.#bad('Give both voltages of the operating point as numbers, the plate voltage above 0, or neither.');
      $('match-va').focus();
      return;
    }
    const [current, transconductance] = WEIGHTS[$('match-by').value];
    const wanted = {
      size: Number($('match-size').value), of: $('match-of').value, weights: { current, transconductance },
      restricted: $('match-restricted').checked, at: place ? [place] : [],
    };
    this.#of = [...this.#entries()[$('match-among').value]];
    $('match-go').disabled = true;
    const text = await this.#on.match(this.#of.map(({ id }) => id), wanted);
    $('match-go').disabled = false;
    if (!text) {
      this.#bad(NOT_AT_HAND);
      return;
    }
    $('match-bad').hidden = true;
    const types = JSON.parse(text);
    this.#free();
    $('match-result').replaceChildren(...types.flatMap((type) => this.#type(type)));
    $('match-result').focus();
    announce(types.map(({ type, groups }) => `${type ?? 'type not given'}: ${count(groups.length, 'group')}`).join('; '));
  }

  #bad(text) {
    $('match-bad').textContent = text;
    $('match-bad').hidden = false;
  }

  #type({ type, region: [at], groups, total, bound, left, left_out: out }) {
    const least = total <= bound * (1 + 1e-6);
    return [
      h('h3', {}, type ?? 'Type not given'),
      groups.length > 0 && h('p', { class: 'soft' }, `About Va ${volts(at.va)}, Vg ${volts(at.vg).replace('-', '\u2212')}. `,
        least ? 'No other grouping has a smaller sum of differences.' : `The sum of differences is ${percent(total)}; no other grouping has less than ${percent(bound)}.`),
      groups.length === 0 && h('p', { class: 'soft' }, 'Too few of these take part to make a group.'),
      h('ol', { class: 'match-groups' }, groups.map((group) => this.#group(group))),
      left.length > 0 && h('p', {}, `In no group: ${left.map(name).join(', ')}.`),
      out.length > 0 && h('p', { class: 'soft' }, `Took no part: ${out.map(({ name: tube, why }) => `${tube} (${why})`).join('; ')}.`),
    ].filter(Boolean);
  }

  #group({ members, distance, mismatch }) {
    const row = (what, value) => h('div', {}, h('dt', {}, what), h('dd', {}, value));
    const names = members.map(name).join(' and ');
    return h('li', {},
      h('div', { class: 'match-names' }, members.map((member) => h('button', {
        type: 'button', class: 'small', 'aria-label': `Open ${name(member)}`, onclick: () => {
          $('match').close();
          this.#on.choose(this.#of[member.tube]);
        },
      }, name(member)))),
      h('dl', {}, row('differ by', percent(distance)), row('plate current', percent(mismatch.current)), row('gm', percent(mismatch.transconductance)), row('bias', bias(mismatch.bias))),
      h('details', { ontoggle: (event) => this.#overlay(event.target, members, names) }, h('summary', {}, `The curves of ${names}, laid over each other`)));
  }

  /** Draws the curves once they are looked at. */
  async #overlay(details, members, names) {
    if (!details.open || details.querySelector('img, .error')) return;
    const text = await this.#on.overlay(members.map(({ tube, section }) => [this.#of[tube].id, section]), OVERLAY);
    if (!text) {
      details.append(h('p', { class: 'error' }, 'The curves are no longer at hand.'));
      return;
    }
    const url = URL.createObjectURL(new Blob([text], { type: 'image/svg+xml' }));
    this.#urls.push(url);
    details.append(h('img', { src: url, alt: `The curves of ${names}, laid over each other`, ...OVERLAY }));
  }

  #free() {
    for (const url of this.#urls) URL.revokeObjectURL(url);
    this.#urls = [];
  }
}
