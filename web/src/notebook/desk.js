// What the user says of the tube on the sheet: the decision, notes, photos, its lot, and
// what was seen beside the sweep.
import { $, announce, h, sentence } from '../dom.js';
import { Book, VERDICTS, verdictOf } from '../engine.js';
import { verdictShape } from '../shapes.js';
import { Lots } from './lots.js';
import { Photos } from './photos.js';
import { SeenForm } from './seen.js';
import { showWeighing } from './weighing.js';

/** How much a tester's lamps count where nobody said otherwise: as in an empty notebook. */
const USUAL = JSON.parse(Book.open('none', 'none').shown()).lamps;

const clock = new Intl.DateTimeFormat(undefined, { dateStyle: 'medium', timeStyle: 'short' });
/** A time as the user writes it; as it stands where it is none, as a script may write it. */
const when = (at) => (Number.isNaN(Date.parse(at)) ? at : clock.format(new Date(at)));

/** The forms under a tube's head. */
export class Desk {
  #notebook;
  #on;
  #entry = null;
  #tube = null;
  /** Whether something is being written in the form of the decision. */
  #writing = false;
  #seen;
  #photos;
  #lots;

  /** `on.needed(entry)` resolves to the notebook's tube of an entry, a notebook being begun where there is none. */
  constructor(notebook, on) {
    this.#notebook = notebook;
    this.#on = on;
    const needed = () => on.needed(this.#entry);
    this.#photos = new Photos(notebook, needed);
    this.#lots = new Lots(notebook, needed);
    this.#seen = new SeenForm((seen, lamp) => this.#record((tube) => [{ do: 'observe', tube, ...seen }, ...lamp]), () => notebook.shown?.lamps ?? USUAL);
    $('own-choices').append(...VERDICTS.toReversed().map(({ name, word }) => h('label', { class: 'chip' },
      h('input', { type: 'radio', name: 'own-choice', value: name }), verdictShape(name, 14), h('span', {}, word))));
    $('own-choices').addEventListener('change', () => this.#need());
    $('own-decision').addEventListener('input', () => { this.#writing = true; });
    $('own-decision').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#decide();
    });
    $('own-take-back').addEventListener('click', async () => {
      const done = await this.#record((tube) => ({ do: 'decide', tube, decision: null, reason: '', said: this.#entry.sheet.verdict }));
      if (done) announce('Your decision is taken back');
      $('own-summary').focus();
    });
    $('own-note-form').addEventListener('submit', async (event) => {
      event.preventDefault();
      const text = $('own-note').value.trim();
      if (!text) return;
      if (!await this.#record((of) => ({ do: 'add-note', of, text }))) return;
      $('own-note').value = '';
      announce('The note is added');
    });
  }

  /** Shows what is said of an entry; `tube` is the notebook's, or nothing. */
  show(entry, tube) {
    // What is being written stays as long as the sheet is of the same tube.
    const other = entry !== this.#entry;
    this.#entry = entry;
    const before = this.#tube?.decision ?? null;
    this.#tube = tube ?? null;
    const said = tube?.decision ?? null;
    const decision = said?.value.decision ?? null;
    $('own-said').replaceChildren('The sweep says: ', verdictShape(entry.sheet.verdict, 14), h('b', {}, ` ${verdictOf(entry.sheet.verdict).word}`));
    $('own-word').replaceChildren(decision ? h('b', {}, verdictOf(decision).word) : 'none yet');
    if (other || (!this.#writing && JSON.stringify(before) !== JSON.stringify(said))) this.#fill(said);
    $('own-take-back').hidden = !decision;
    $('own-when').textContent = decision ? `Decided ${when(said.at)}${then(said.value, entry)}` : '';
    $('own-also').replaceChildren(...(said?.also ?? []).map(({ value, at }) => h('li', {},
      `Also said, ${when(at)}: ${value.decision ? verdictOf(value.decision).word : 'no decision'}${value.reason ? `, ${value.reason}` : ''}`)));
    this.#list(tube);
    this.#photos.show(tube);
    this.#lots.show(tube);
    if (other) this.#seen.show(sections(entry));
    showWeighing(entry, tube ? this.#notebook.weighed(entry.report, tube.id) : null, (between) => {
      $('own').open = true;
      this.#seen.ask(between);
    });
  }

  #fill(said) {
    for (const input of document.querySelectorAll('[name=own-choice]')) input.checked = input.value === said?.value.decision;
    $('own-reason').value = said?.value.reason ?? '';
    this.#writing = false;
    this.#bad(null);
    this.#need();
  }

  /** Says beside the field whether a reason has to be given. */
  #need() {
    const choice = document.querySelector('[name=own-choice]:checked')?.value;
    $('own-why').textContent = choice && choice !== this.#entry?.sheet.verdict ? 'Why you decide otherwise' : 'Why, if you like';
  }

  #list(tube) {
    const { shown } = this.#notebook;
    const own = (list) => (tube ? list.filter((one) => (one.of ?? one.tube) === tube.id) : []);
    const line = (entry, text, at, also = []) => h('li', {},
      h('span', {}, text, h('span', { class: 'soft' }, ` ${when(at)}`),
        also.map((other) => h('span', { class: 'soft' }, ` · also said: ${other.value}`))),
      h('button', { type: 'button', class: 'small', 'aria-label': `Remove: ${text.slice(0, 60)}`, onclick: () => this.#remove(entry) }, 'Remove'));
    $('own-notes').replaceChildren(...own(shown?.notes ?? []).map(({ id, text }) => line(id, text.value, text.at, text.also)));
    $('own-seen').replaceChildren(...own(shown?.observations ?? []).map(({ id, words, section, at }) => line(id, sentence(section ? `section ${section}: ${words}` : words), at)));
  }

  #remove(entry) {
    const refused = this.#notebook.record([{ do: 'remove', entry, removed: true }]);
    announce(refused ? `${refused.what}. ${refused.mend}` : 'Removed; Undo brings it back');
    $('own-summary').focus();
  }

  async #decide() {
    const choice = document.querySelector('[name=own-choice]:checked')?.value;
    if (!choice) {
      this.#bad({ what: 'nothing is chosen', mend: 'Choose what to do with the tube.' });
      document.querySelector('[name=own-choice]').focus();
      return;
    }
    const reason = $('own-reason').value.trim();
    const done = await this.#record((tube) => ({ do: 'decide', tube, decision: choice, reason, said: this.#entry.sheet.verdict }), (refused) => {
      this.#bad(refused);
      $('own-reason').focus();
    });
    if (done) announce(`Your decision: ${verdictOf(choice).word}`);
  }

  #bad(refused) {
    $('own-bad').hidden = !refused;
    $('own-bad').textContent = refused ? `${sentence(refused.what)} ${refused.mend}` : '';
    $('own-reason').setAttribute('aria-invalid', String(Boolean(refused)));
  }

  /** Records one thing of this tube, or several as one; whether it was. */
  async #record(act, onrefused = (refused) => announce(`${refused.what}. ${refused.mend}`)) {
    const entry = this.#entry;
    const tube = await this.#on.needed(entry);
    if (!tube) return false;
    const acts = [act(tube.id)].flat();
    const writing = this.#writing;
    if (acts[0].do === 'decide') this.#writing = false;
    const refused = this.#notebook.record(acts);
    if (refused) {
      this.#writing = writing;
      onrefused(refused);
    } else this.#bad(null);
    return !refused;
  }
}

/** What the sweep said then, where it says something else now. */
function then({ said }, { sheet }) {
  return said && said !== sheet.verdict ? `, when the sweep said ${verdictOf(said).word}` : '';
}

/** The names of a tube's sections. */
const sections = ({ report }) => JSON.parse(report).sections.map(({ section }) => section);
