// Files between the page and the notebook: what is read goes into the notebook, what the
// notebook has is read.
import { announce, count } from '../dom.js';
import { sumOf } from './notebook.js';

/** As a notebook takes a name (its bounds are core's). */
const short = (name) => name.slice(0, 300);
/** What one act may do at most, likewise. */
const MOST_IN_ACT = 1000;

/** The files that a tube was read from: several, where it was put together. */
const itemsOf = (entry) => entry.items ?? [entry.item];
const pair = (a, b) => `${a}\u0000${b}`;
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
/** How long what was found waits to be kept, in case there is more of it, ms. */
const SOON = 400;

/** Keeps the page's files and the notebook's the same. */
export class Shelf {
  #notebook;
  #on;
  /** The notebook's file of each of the page's, by the page's key. */
  #sources = new Map();
  /** How each of the notebook's files was read last. */
  #read = new Map();
  /** The notebook's files whose bytes are not here, with the key under which the page says so. */
  #missing = new Map();
  #queue = Promise.resolve();
  #indexed = { shown: undefined };
  /** What was kept last of each of the notebook's files: what was found of its tubes. */
  #answered = new Map();
  #waiting = null;

  /**
   * `on.entries()` what is on the page; `on.read(item)` to have one more file read, `on.restore([{item, tubes}])` to have files
   * taken over as they were judged before, for their keys, `on.settled(item)` whether all of a file was read; `on.again(key, options, bench)` to have one read otherwise, `on.remove(key)` to take one off; `on.missing(file)` where its bytes are not kept, for a key, and `on.found(key)` once they are; `on.linked()` once an entry has a tube in the notebook.
   */
  constructor(notebook, on) {
    this.#notebook = notebook;
    this.#on = on;
  }

  /** The page holds nothing any more. */
  clear() {
    this.#sources.clear();
    this.#read.clear();
    this.#missing.clear();
    this.#answered.clear();
  }

  /** What was found of the page's files is kept in a while, so that they need not be judged when the notebook is opened again. */
  keepSoon() {
    if (!this.#notebook.id) return;
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(() => this.#later(() => this.#keepAnswers()), SOON);
  }

  async #keepAnswers() {
    const names = new Names(this.#notebook.shown.sources, this.#index().names);
    const files = new Map();
    for (const entry of this.#on.entries()) {
      const source = this.#sources.get(entry.item.key);
      // A tube that was put together is of several files, which are read and put together again.
      if (!source || !names.has(source)) continue;
      const file = files.get(source) ?? { tubes: [], whole: this.#on.settled(entry.item) };
      file.whole &&= !entry.items;
      file.tubes.push(entry);
      files.set(source, file);
    }
    const answers = [];
    for (const [source, { tubes, whole }] of files) {
      const together = names.together(source);
      const found = foundOf(together, tubes);
      // Text by text: written as one they would be as long as all that is kept.
      const before = this.#answered.get(source);
      if (!whole || (before?.length === found.length && before.every((text, i) => text === found[i]))) continue;
      this.#answered.set(source, found);
      const kept = tubes.map(({ sheet, row, tube, report, member, judged }) => ({ sheet, row, tube, report, member, judged }));
      answers.push([names.of(source), { together, tubes: kept }]);
    }
    await this.#notebook.keepAnswers(answers);
  }

  /** The notebook's tube that an entry of the page is a sweep of. */
  tubeOf({ item, sheet }) {
    return this.#index().tied.get(pair(this.#sources.get(item.key), short(sheet.tube)));
  }

  /** The notebook's tubes by file and name in it, and by label and type; and the names that each file has. */
  #index() {
    const { shown } = this.#notebook;
    if (this.#indexed.shown !== shown) {
      const [tied, named, names] = [new Map(), new Map(), new Map()];
      for (const tube of shown?.tubes ?? []) {
        for (const { source, named: name } of tube.sources) {
          tied.set(pair(source, name), tube);
          names.set(source, [...names.get(source) ?? [], name]);
        }
        const is = pair(tube.label.value, tube.type?.value ?? '');
        if (!named.has(is)) named.set(is, tube);
      }
      this.#indexed = { shown, tied, named, names };
    }
    return this.#indexed;
  }

  /** The bytes of a file that is on the page, by their sum; nothing for another. */
  async bytes(hash) {
    const source = this.#notebook.shown?.sources.find((one) => one.hash === hash)?.id;
    const items = this.#on.entries().flatMap(itemsOf);
    return source && items.find(({ key }) => this.#sources.get(key) === source)?.file.arrayBuffer();
  }

  /** A file was read: it is kept, with the tubes in it. */
  heard(item, entries) {
    if (!this.#notebook.id || entries.length === 0) return this.#queue;
    return this.#later(() => this.#keep(item, entries));
  }

  /** Pieces of a tube, `those`, were put together as `entries`: so they are in the notebook. */
  joined(items, those, entries) {
    const pieces = those.map((entry) => this.tubeOf(entry)?.id).filter(Boolean);
    for (const item of items) this.heard(item, entries);
    if (pieces.length === 0) return;
    this.#later(() => {
      const { tubes, notes, photos, observations } = this.#notebook.shown;
      const written = new Set([...notes, ...photos, ...observations].map((one) => one.of ?? one.tube));
      // A piece that something is written of stays: it is not for the page to throw away.
      const bare = tubes.filter(({ id, decision }) => pieces.includes(id) && !decision && !written.has(id));
      if (bare.length) this.#notebook.record(bare.map(({ id }) => ({ do: 'remove', entry: id, removed: true })));
    });
  }

  /** Whether pieces on the page are one tube in the notebook. */
  isJoined({ ids, tube }) {
    const those = this.#on.entries().filter((entry) => ids.includes(entry.id));
    const { tied } = this.#index();
    return those.length > 0 && those.every(({ item, sheet }) => sheet.tube !== tube && tied.has(pair(this.#sources.get(item.key), short(tube))));
  }

  /** A tube that was put together is taken apart again. */
  apart(entry) {
    const tube = this.tubeOf(entry);
    if (!tube) return;
    this.#notebook.record(tube.sources.filter(({ named }) => named === short(entry.sheet.tube))
      .map(({ source, named }) => ({ do: 'tie-source', tube: tube.id, source, named, tied: false })));
  }

  /** Takes everything that is on the page into the notebook. */
  takeIn() {
    const files = new Map();
    for (const entry of this.#on.entries()) {
      for (const item of itemsOf(entry)) files.set(item.key, [item, [...files.get(item.key)?.[1] ?? [], entry]]);
    }
    for (const [item, entries] of files.values()) this.heard(item, entries);
    return this.#queue;
  }

  /** The notebook shows something else: what of the page's files came, went, or is read otherwise. */
  changed(shown) {
    if (!shown) return;
    this.#later(() => this.#sync());
  }

  #later(what) {
    const { id } = this.#notebook;
    this.#queue = this.#queue.then(() => (this.#notebook.id === id ? what() : undefined))
      .catch((error) => announce(`The notebook could not take it: ${error.message}`));
    return this.#queue;
  }

  async #keep(item, entries) {
    const { id } = this.#notebook;
    const acts = [];
    const files = [];
    const reading = item.said.map(({ option }) => option);
    const bench = item.bench ? { name: JSON.parse(item.bench).name, text: item.bench } : null;
    let source = this.#sources.get(item.key);
    const bytes = source ? null : await item.file.arrayBuffer();
    const hash = bytes && await sumOf(bytes);
    if (this.#notebook.id !== id) return;
    // Nothing is waited for from here on: other changes would get these names.
    const names = this.#notebook.next(2 * entries.length + 1);
    if (!source) {
      const there = this.#notebook.shown.sources.find((one) => one.hash === hash && same(one.read.value.reading, reading));
      if (there) {
        this.#on.remove(item.key);
        announce(`${item.name} is in the notebook already`);
        return;
      }
      source = names[acts.length];
      acts.push({ do: 'add-source', file: short(item.name), hash, bytes: bytes.byteLength, reading, bench, sample: Boolean(item.sample) });
      files.push([hash, bytes]);
    } else if (!same(this.#read.get(source), { reading, bench })) {
      acts.push({ do: 'read-source', source, reading, bench });
    }
    this.#sources.set(item.key, source);
    this.#read.set(source, { reading, bench });
    this.keepSoon();
    const fresh = new Map();
    const { lots } = this.#notebook.shown;
    const index = this.#index();
    // Read again as it is kept, it brings no tube that is a piece of one that is there.
    const pieces = acts.length === 0 && entries.every(({ items }) => !items);
    const own = new Set(entries.map(({ sheet }) => short(sheet.tube)));
    if (pieces && [...index.names.get(source) ?? []].some((name) => !own.has(name))) {
      this.#on.linked();
      return;
    }
    for (const { sheet } of entries) {
      const named = short(sheet.tube);
      if (index.tied.has(pair(source, named))) continue;
      const label = named.trim() ? named : short(item.name);
      const is = pair(label, sheet.kind ?? '');
      let tube = fresh.get(is) ?? index.named.get(is)?.id;
      if (!tube) {
        tube = names[acts.length];
        acts.push({ do: 'add-tube', lot: lots.at(-1)?.id ?? null, label, type: sheet.kind });
      }
      if (!fresh.has(is)) acts.push({ do: 'tie-source', tube, source, named, tied: true });
      fresh.set(is, tube);
    }
    for (let from = 0; from < acts.length; from += MOST_IN_ACT) {
      const refused = this.#notebook.record(acts.slice(from, from + MOST_IN_ACT), from ? [] : files);
      if (refused) {
        announce(`${item.name} is not in the notebook: ${refused.what}. ${refused.mend}`);
        return;
      }
    }
    this.#on.linked();
  }

  async #sync() {
    const { id: book, shown } = this.#notebook;
    const there = new Map(shown.sources.map((source) => [source.id, source]));
    for (const [key, source] of [...this.#sources]) {
      if (there.has(source)) continue;
      this.#sources.delete(key);
      this.#read.delete(source);
      this.#on.remove(key);
    }
    const known = new Map([...this.#sources].map(([key, source]) => [source, key]));
    let missing = 0;
    const wanted = [];
    for (const source of shown.sources) {
      const { id, read: { value: { reading, bench } } } = source;
      const how = { reading, bench };
      const key = known.get(id);
      if (key !== undefined && same(this.#read.get(id), how)) continue;
      this.#read.set(id, how);
      if (key !== undefined) this.#on.again(key, saidOf(reading), bench?.text ?? null);
      else wanted.push(source);
    }
    const names = new Names(shown.sources, this.#index().names);
    const [bytes, answers] = await Promise.all([
      this.#notebook.files(wanted.map(({ hash }) => hash)),
      this.#notebook.answers(wanted.map(({ id }) => names.of(id))),
    ]);
    if (this.#notebook.id !== book) return;
    const [fresh, restored] = [[], []];
    for (const [i, { id, file, hash, sample, read: { value: { reading, bench } } }] of wanted.entries()) {
      if (!bytes.get(hash)) {
        if (this.#missing.has(id)) continue;
        missing += 1;
        this.#missing.set(id, this.#on.missing(file));
        continue;
      }
      // It came with a copy, say.
      if (this.#missing.has(id)) this.#on.found(this.#missing.get(id));
      this.#missing.delete(id);
      const item = { name: file, sample, file: new File([bytes.get(hash)], file), said: saidOf(reading), bench: bench?.text ?? null };
      const together = names.together(id);
      if (answers[i]?.together === together) {
        restored.push([id, { item, tubes: answers[i].tubes }]);
        this.#answered.set(id, foundOf(together, answers[i].tubes));
      } else fresh.push([id, item]);
    }
    if (restored.length) {
      const keys = this.#on.restore(restored.map(([, one]) => one));
      for (const [i, [id]] of restored.entries()) this.#sources.set(keys[i], id);
      this.#on.linked();
    }
    // All at once, so that they are one lot on their way.
    for (const [id, item] of fresh) this.#sources.set(this.#on.read(item), id);
    if (missing) announce(`The bytes of ${count(missing, 'file')} are not kept in this browser`);
  }
}

/** What tells whether something else was found of a file than is kept. */
const foundOf = (together, tubes) => [together, ...tubes.map(({ judged }) => judged)];

const saidOf = (reading) => reading.map((option) => ({ option, says: 'as kept in the notebook' }));

/** Names under which it is kept what was found of a notebook's files: whatever changes what is found changes the name or the company. */
class Names {
  #of;
  #files = new Map();
  #tubes;

  /** `tubes` has the names of the tubes in each file. */
  constructor(sources, tubes) {
    this.#of = new Map(sources.map(({ id, file, hash, read: { value: { reading, bench } } }) => [id, JSON.stringify([hash, file, reading, bench])]));
    this.#tubes = tubes;
    for (const [id, names] of tubes) {
      for (const name of names) this.#files.set(name, [...this.#files.get(name) ?? [], id]);
    }
  }

  has(id) { return this.#of.has(id); }
  of(id) { return this.#of.get(id); }

  /** The files with other sweeps of the same tubes, which are judged together. */
  together(id) {
    const others = (this.#tubes.get(id) ?? []).flatMap((name) => this.#files.get(name));
    return [...new Set(others)].filter((other) => other !== id).map((other) => this.of(other)).sort().join('\n');
  }
}
