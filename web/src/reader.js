// The queue of files on their way through the worker.
import { failed, refuse, unopened } from './engine.js';

/** Reads files one after the other and tells what came of each. */
export class Reader {
  #worker = null;
  #queue = [];
  #current = null;
  #serial = 0;
  #done = 0;
  #all = 0;
  /** Numbers of tubes start anew with each worker, and after each closed lot. */
  #life = 0;
  /** What is being taken over, by its key on the page. */
  #restoring = new Map();
  /** Who waits for what was asked. */
  #asked = new Map();
  #on;
  /** The next number of a tube that is taken over: far from those that the worker gives. */
  #taken = 2 ** 31;
  /** The text of the bench profile of the lot; nothing where the files' own word is all. */
  bench = null;

  /** `on.answer({tubes, again, unread, questions}, item)` for every file, `item.life` telling one worker's tubes from another's, `on.progress({done, all, name})` in between, `on.instead(item)` for the tubes that were read from an item before, `on.compared(comparison, of)` for a comparison, `on.pieces` and `on.joined` for tubes in pieces, `on.left({again}, life)` for tubes judged again after others left, `on.stale(item)` for one whose tubes could not be taken over. */
  constructor(on) {
    this.#on = on;
  }

  /**
   * Adds items to the queue, or before all others: `{name, file, said, instead}` with
   * the answers `{option}` about it and the tubes `life/id` that it takes the place of,
   * and `bench` where it is to be read with another profile than the lot's.
   * The whole item comes back with the answer.
   */
  add(items, first = false) {
    const queued = items.map((item) => ({ ...item, id: ++this.#serial }));
    this.#queue = first ? [...queued, ...this.#queue] : [...this.#queue, ...queued];
    this.#all += items.length;
    this.#next();
  }

  /**
   * Has tubes taken over as they were judged before, `[{item, judged}]` with what was found of each tube of an item; the
   * numbers `life/id` that they have from now on, item by item.
   */
  restore(files) {
    const numbers = files.map(({ judged }) => judged.map(() => this.#taken++));
    for (const { item } of files) this.#restoring.set(item.key, item);
    this.#running().postMessage({
      restored: files.map(({ item: { key, name, file, said, bench }, judged }, i) => ({
        key, name, file, how: how(said, [], bench), kept: judged.map((one, at) => ({ id: numbers[i][at], judged: one })),
      })),
    });
    return numbers.map((ids) => ids.map((id) => `${this.#life}/${id}`));
  }

  /** The lot was closed: what comes next is not compared with it. */
  forget() {
    this.#worker?.postMessage({ forgotten: true });
    this.#life += 1;
  }

  /** Those tubes `life/id` are gone: their mates are judged without them. */
  leave(tubes) {
    const known = this.#known(tubes);
    if (known.length) this.#running().postMessage({ left: JSON.stringify(known) });
  }

  /**
   * Has tubes compared with each other, `members` being what was read of each; tells
   * `on.compared(comparison, of)` unless the worker is stopped before.
   */
  compare(members, of) {
    this.#running().postMessage({ members: `[${members.join(',')}]`, id: of });
  }

  /** Asks for tubes that may be pieces of one; tells `on.pieces([{ids, tube, says}])`. */
  pieces() {
    this.#worker?.postMessage({ offers: true });
  }

  /** Puts such pieces together; tells `on.joined(answer, ids, life)`. */
  join(ids) {
    this.#worker?.postMessage({ joined: this.#known(ids), id: ids });
  }

  /**
   * Asks the program about tubes `life/id`: `paper` with what is said, `matched` with what is wanted, `overlay` with
   * a size, where a tube may come with a section's name; resolves to its text, or to nothing where not all of them are at hand.
   */
  ask(what, tubes, how) {
    const known = this.#known(tubes.map((tube) => (Array.isArray(tube) ? tube[0] : tube)));
    if (known.length < tubes.length || !this.#worker) return Promise.resolve(null);
    const ids = known.map((id, i) => (Array.isArray(tubes[i]) ? [id, tubes[i][1]] : id));
    return new Promise((resolve) => {
      this.#asked.set(++this.#serial, resolve);
      this.#worker.postMessage({ asked: { what, ids, how }, id: this.#serial });
    });
  }

  /** Gives up what has not been read yet; returns how many files that are. */
  stop() {
    const left = this.#queue.length + (this.#current ? 1 : 0);
    this.#queue = [];
    this.#current = null;
    this.#drop();
    this.#next();
    return left;
  }

  #next() {
    if (this.#current) return;
    this.#current = this.#queue.shift() ?? null;
    if (!this.#current) {
      const { done } = { done: this.#done };
      this.#done = this.#all = 0;
      this.#on.progress({ done, all: done, name: null });
      return;
    }
    const { id, name, file, said } = this.#current;
    // Now and not when it was queued: it may have been read again since.
    const instead = this.#current.instead = this.#on.instead(this.#current);
    this.#on.progress({ done: this.#done, all: this.#all, name });
    const bench = this.#current.bench = 'bench' in this.#current ? this.#current.bench : this.bench;
    const refused = refuse(name, file.size);
    if (refused) this.#finish({ tubes: [], unread: [JSON.parse(refused)] });
    else this.#running().postMessage({ id, name, file, how: how(said, this.#known(instead), bench) });
  }

  /** The numbers of those tubes that this worker has read itself. */
  #known(tubes) {
    const own = `${this.#life}/`;
    return tubes.filter((id) => id.startsWith(own)).map((id) => Number(id.slice(own.length)));
  }

  #running() {
    if (this.#worker) return this.#worker;
    this.#worker = new Worker(new URL('./worker.js', import.meta.url), { type: 'module' });
    this.#worker.addEventListener('message', ({ data }) => this.#heard(data));
    this.#worker.addEventListener('error', (event) => {
      event.preventDefault();
      this.#broken(event.message || 'the worker could not be started');
    });
    return this.#worker;
  }

  #heard({ id, answer, unopened: why, trap, comparison, of, pieces, joined, left, told, stale }) {
    if (stale !== undefined) {
      if (this.#restoring.has(stale)) this.#on.stale(this.#restoring.get(stale));
      return;
    }
    if (told !== undefined) {
      this.#asked.get(of)?.(told);
      this.#asked.delete(of);
      return;
    }
    if (pieces !== undefined) {
      const own = (n) => `${this.#life}/${n}`;
      this.#on.pieces(JSON.parse(pieces).map((one) => ({ ...one, ids: one.ids.map(own) })));
      return;
    }
    if (joined !== undefined) {
      this.#on.joined(JSON.parse(answer), joined, this.#life);
      return;
    }
    if (left !== undefined) {
      this.#on.left(JSON.parse(left), this.#life);
      return;
    }
    if (comparison !== undefined) {
      this.#on.compared(comparison, of);
      return;
    }
    if (id !== this.#current?.id) return;
    if (answer !== undefined) this.#finish(JSON.parse(answer));
    else if (why !== undefined) this.#finish({ tubes: [], unread: [JSON.parse(unopened(this.#current.name, why))] });
    else this.#broken(trap);
  }

  /** The program stopped on the current file: a new worker goes on with the rest. */
  #broken(why) {
    this.#drop();
    if (this.#current) this.#finish({ tubes: [], unread: [JSON.parse(failed(this.#current.name, why))] });
  }

  #drop() {
    this.#worker?.terminate();
    for (const resolve of this.#asked.values()) resolve(null);
    this.#asked.clear();
    this.#worker = null;
    this.#life += 1;
  }

  #finish(answer) {
    const item = { ...this.#current, life: this.#life };
    this.#current = null;
    this.#done += 1;
    this.#on.answer(answer, item);
    this.#next();
  }
}

/** How a file is read, as the program takes it. */
function how(said, instead, bench) {
  return JSON.stringify({ options: said.map(({ option }) => option), instead_of: instead, bench });
}
