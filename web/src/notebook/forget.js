// Deleting a notebook: what goes with it is named, and a copy is offered first.
import { $, announce, count, sentence } from '../dom.js';
import { saveCopy } from './copies.js';

/** What a notebook holds, in words. */
function contents({ sources, tubes, notes, photos, observations, lots }) {
  const parts = [
    [sources.length, 'file'], [lots.length, 'lot'], [tubes.length, 'tube'],
    [tubes.filter(({ decision }) => decision?.value.decision).length, 'decision'],
    [notes.length, 'note'], [photos.length, 'photo'], [observations.length, 'thing seen beside the sweep', 'things seen beside the sweep'],
  ].filter(([n]) => n > 0).map(([n, ...words]) => count(n, ...words));
  const last = parts.pop();
  if (!last) return 'It is empty.';
  return `With it goes what it holds: ${parts.length ? `${parts.join(', ')} and ${last}` : last}.`;
}

/** The dialog that asks. */
export class Forget {
  #notebook;
  #done;
  #book = null;

  /** `done()` once a notebook was deleted or kept. */
  constructor(notebook, done) {
    this.#notebook = notebook;
    this.#done = done;
    $('forget-copy').addEventListener('click', () => this.#copy());
    $('forget-do').addEventListener('click', () => this.#delete());
    $('forget-cancel').addEventListener('click', () => $('forget').close());
    $('forget').addEventListener('close', () => this.#done());
  }

  /** Asks whether a notebook is to be deleted. */
  async ask(id) {
    this.#book = await this.#notebook.look(id);
    if (!this.#book) {
      // Another tab was quicker.
      this.#done();
      return;
    }
    $('forget-title').textContent = `Delete the notebook “${this.#book.name}”?`;
    $('forget-what').textContent = contents(this.#book.shown);
    this.#say('', '');
    $('forget').showModal();
    $('forget-title').focus();
  }

  async #copy() {
    const { refused, missing } = await saveCopy(this.#book);
    if (refused) this.#say('', `${sentence(refused.what)} ${refused.mend}`);
    else this.#say(missing ? `A copy was saved, without ${count(missing, 'file')} whose bytes are not here.` : 'A copy was saved, with everything in it.', '');
  }

  async #delete() {
    $('forget-do').disabled = true;
    const why = await this.#notebook.remove(this.#book.id);
    $('forget-do').disabled = false;
    if (why) {
      this.#say('', why);
      return;
    }
    $('forget').close();
    announce(`${this.#book.name} is deleted`);
  }

  #say(done, bad) {
    for (const [id, text] of [['forget-says', done], ['forget-bad', bad]]) {
      $(id).textContent = text;
      $(id).hidden = !text;
    }
  }
}
