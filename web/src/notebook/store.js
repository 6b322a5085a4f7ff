// The browser's store: changes, files and photos of every notebook, in IndexedDB. What was
// confirmed here is on the disk.
import { openDB } from '../../vendor/idb/index.js';

/** Never another name: what is kept under it would be lost. */
const NAME = 'sweepbook';
const VERSION = 2;

/** All changes of a notebook, or all answers of a build: arrays come after texts in the order of keys. */
const all = (id) => IDBKeyRange.bound([id, ''], [id, []]);

/** The notebooks that this browser keeps. */
export class Store {
  #db;

  /** Opens it; `onlost(why)` once it is gone while the page is open. Rejects where the browser refuses. */
  static async open(onlost) {
    const store = new Store();
    store.#db = await openDB(NAME, VERSION, {
      upgrade(db, before) {
        if (before < 1) {
          db.createObjectStore('notebooks', { keyPath: 'id' });
          db.createObjectStore('changes');
          db.createObjectStore('files');
          db.createObjectStore('devices');
        }
        if (before < 2) db.createObjectStore('answers');
      },
      // A later version in another tab waits for this one.
      blocking() {
        store.#db.close();
        onlost('renewed');
      },
      terminated() { onlost('cleared'); },
    });
    return store;
  }

  /** The notebooks, the one that was used last first: `{id, name, used, device}`. */
  async notebooks() {
    return (await this.#db.getAll('notebooks')).sort((a, b) => b.used.localeCompare(a.used));
  }

  notebook(id) { return this.#db.get('notebooks', id); }

  /** The texts of all changes of a notebook. */
  changes(id) { return this.#db.getAll('changes', all(id)); }

  /** How many there are. */
  size(id) { return this.#db.count('changes', all(id)); }

  /** The bytes of a file by their sum; nothing where they are not kept. */
  file(hash) { return this.#db.get('files', hash); }

  /** The bytes of several files, in their order. */
  files(hashes) { return this.#several('files', hashes); }

  /** What a build of the program found, by names; nothing where that is not kept. */
  answers(build, names) { return this.#several('answers', names.map((name) => [build, name])); }

  #several(store, keys) {
    const { store: from } = this.#db.transaction(store);
    return Promise.all(keys.map((key) => from.get(key)));
  }

  /** Keeps what a build of the program found, `[name, answer]` each: it can be found again, so it may get lost. */
  async keepAnswers(build, answers) {
    const tx = this.#db.transaction('answers', 'readwrite', { durability: 'relaxed' });
    await Promise.all([...answers.map(([name, answer]) => tx.store.put(answer, [build, name])), tx.done]);
  }

  /** Forgets what other builds found; everything where none is named. */
  async forgetAnswers(build) {
    const tx = this.#db.transaction('answers', 'readwrite', { durability: 'relaxed' });
    const gone = build ? [IDBKeyRange.upperBound(all(build).lower, true), IDBKeyRange.lowerBound(all(build).upper, true)] : [undefined];
    await Promise.all([...gone.map((range) => (range ? tx.store.delete(range) : tx.store.clear())), tx.done]);
  }

  /**
   * Keeps changes `{key, text}` of a notebook `{id, name, used, device}`, with the files
   * `[hash, bytes]` that they name: all of it, or nothing. Done once it is on the disk.
   */
  async append(notebook, changes, files) {
    const tx = this.#db.transaction(['notebooks', 'changes', 'files'], 'readwrite', { durability: 'strict' });
    const puts = [
      tx.objectStore('notebooks').put(notebook),
      ...changes.map(({ key, text }) => tx.objectStore('changes').put(text, [notebook.id, key])),
      ...files.map(([hash, bytes]) => tx.objectStore('files').put(bytes, hash)),
    ];
    await Promise.all([...puts, tx.done]);
  }

  /** Deletes a notebook, the files that no other one names, and what was found of them: all of it, or nothing. */
  async remove(id) {
    const names = ['notebooks', 'changes', 'files', 'answers'];
    const tx = this.#db.transaction(names, 'readwrite', { durability: 'strict' });
    const [notebooks, changes, files, answers] = names.map((name) => tx.objectStore(name));
    const own = named(await changes.getAll(all(id)));
    const deleted = [notebooks.delete(id), changes.delete(all(id))];
    const others = named(await changes.getAll());
    const gone = [...own].filter((hash) => !others.has(hash));
    deleted.push(...gone.map((hash) => files.delete(hash)));
    const found = (await answers.getAllKeys()).filter(([, name]) => gone.some((hash) => name.includes(hash)));
    await Promise.all([...deleted, ...found.map((key) => answers.delete(key)), tx.done]);
  }

  /**
   * A device's name for this tab, one that no other tab has: the one that it had before if it can
   * be, or `last`, so that what was done under it can be taken back.
   */
  async device(last) {
    const known = await this.#db.getAllKeys('devices');
    const first = [remembered(), last].filter((name) => known.includes(name));
    for (const name of new Set([...first, ...known])) {
      if (await claim(name)) return remember(name);
    }
    const name = freshDevice();
    await this.#db.put('devices', { since: new Date().toISOString() }, name);
    await claim(name);
    return remember(name);
  }
}

/** The files that texts of changes name. In what a user wrote there is a stroke before each quotation mark. */
const named = (texts) => new Set(texts.flatMap((text) => [...text.matchAll(/"hash":"([0-9a-f]{64})"/g)].map(([, hash]) => hash)));

const lockOf = (id) => `sweepbook/open/${id}`;

/** Says to other tabs that a notebook is open here; to be called once it is no more. */
export function holding(id) {
  return new Promise((resolve) => {
    const none = () => resolve(() => {});
    // Each kind of refusal: no locks at all, or none for this page.
    if (!navigator.locks) none();
    else navigator.locks.request(lockOf(id), { mode: 'shared' }, () => new Promise((end) => { resolve(end); })).catch(none);
  });
}

/** Does something with a notebook that no tab has open; whether it was done. */
export async function alone(id, work) {
  if (!navigator.locks) {
    await work();
    return true;
  }
  return navigator.locks.request(lockOf(id), { ifAvailable: true }, async (lock) => {
    if (lock) await work();
    return Boolean(lock);
  });
}

/** A name for a device that nobody has. */
export const freshDevice = () => `tab-${crypto.getRandomValues(new Uint32Array(1))[0].toString(16).padStart(8, '0')}`;

/** Takes a device's name for as long as this tab lives; whether it was free. */
function claim(name) {
  return new Promise((resolve) => {
    if (!navigator.locks) {
      resolve(false);
      return;
    }
    navigator.locks.request(`sweepbook/device/${name}`, { ifAvailable: true }, (lock) => {
      resolve(Boolean(lock));
      return lock && new Promise(() => {});
    }).catch(() => resolve(false));
  });
}

const KEY = 'sweepbook/device';

function remembered() {
  try {
    return sessionStorage.getItem(KEY);
  } catch {
    return null;
  }
}

function remember(name) {
  try {
    sessionStorage.setItem(KEY, name);
  } catch {
    // Refused: the next visit may be another device.
  }
  return name;
}
