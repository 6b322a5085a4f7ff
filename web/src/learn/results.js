// What came of exercises: in the notebook that was open last, else in this browser's own memory.
import { Notebook } from '../notebook/notebook.js';

const KEPT = 'sweepbook-exercises';
/** Most results that the browser keeps without a notebook. */
const MOST = 500;

/** The results, the last one last. */
export class Results {
  #notebook;
  #changed;
  /** The level to go on with after the last one: a notebook knows only the level that it had. */
  #then = null;

  /** `changed()` whenever there are others, as another tab may add them. */
  constructor(changed) {
    this.#changed = changed;
    const told = () => changed();
    this.#notebook = new Notebook({ changed: told, state: told, bytes: async () => undefined });
    /** Once it is known where they are. */
    this.ready = this.#notebook.start().catch(() => {});
  }

  /** `{seed, level, score, of, then}` each. */
  get all() {
    if (!this.#notebook.id) return remembered();
    const those = (this.#notebook.shown?.exercises ?? []).map(({ number, level, score, of }) => ({ seed: number, level, score, of, then: level }));
    const last = those.at(-1);
    if (last && this.#then?.seed === last.seed) last.then = this.#then.level;
    return those;
  }

  /** Where they are kept, a sentence. */
  get where() {
    return this.#notebook.id ? `Results are kept in the notebook “${this.#notebook.name}”.` : 'Results stay in this browser; with a notebook open, they are kept in that.';
  }

  add(result) {
    this.#then = { seed: result.seed, level: result.then };
    if (this.#notebook.id) {
      const { seed, level, score, of } = result;
      this.#notebook.record([{ do: 'exercise', number: seed, level, score, of }]);
    } else remember([...remembered(), result]);
    this.#changed();
  }

  /** Forgets those that are in no notebook. */
  forget() {
    remember([]);
    this.#changed();
  }
}

function remembered() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? '[]');
    return Array.isArray(kept) ? kept.filter((one) => Number.isInteger(one?.seed) && Number.isFinite(one.score) && one.of > 0) : [];
  } catch {
    return [];
  }
}

function remember(all) {
  try {
    localStorage.setItem(KEPT, JSON.stringify(all.slice(-MOST)));
  } catch {
    // Nothing is kept where the browser keeps nothing.
  }
}
