// The open notebook: what is done is recorded by the program, kept in the store, and told
// to other tabs.
import { Book, sumOf as slowSum } from '../engine.js';
import { MARK } from '../local.js';
import { Store, alone, freshDevice, holding } from './store.js';

const LAST = 'sweepbook/notebook/open';
const build = document.querySelector('meta[name=build]')?.content ?? '';
/** The build of the program, and how it writes numbers here: another one may find or say something else. */
const BUILD = /^build-/.test(build) && build + MARK;
const now = () => new Date().toISOString();

/** A sum as the notebook names bytes. */
export async function sumOf(bytes) {
  // Only where the page came by a way that others can read the browser has none.
  if (!crypto.subtle) return slowSum(new Uint8Array(bytes));
  const digest = await crypto.subtle.digest('SHA-256', bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** The notebook of this page: open, or none. */
export class Notebook {
  #store = null;
  #device = null;
  #book = null;
  /** To be called once it is no longer open here. */
  #release = () => {};
  #shown = null;
  /** Changes that are not on the disk yet. */
  #pending = [];
  #keeping = null;
  /** Bytes that are not on the disk yet. */
  #files = new Map();
  #channel = null;
  #trouble = null;
  #on;

  /** `on.changed(shown)` whenever it shows something else (nothing once it is closed), `on.state()` whenever it is kept otherwise; `on.bytes(hash)` resolves to bytes that the page still has. */
  constructor(on) {
    this.#on = on;
    if ('BroadcastChannel' in globalThis) {
      this.#channel = new BroadcastChannel('sweepbook/notebook');
      this.#channel.addEventListener('message', ({ data }) => { if (data.id === this.id) this.#take(data.texts); });
    }
    // A tab that slept may have missed what another one did.
    document.addEventListener('visibilitychange', () => { if (!document.hidden) this.#catchUp(); });
    addEventListener('beforeunload', (event) => { if (!this.kept) event.preventDefault(); });
  }

  get id() { return this.#book?.id() ?? null; }
  get shown() { return this.#shown; }
  get name() { return this.#shown?.name?.value ?? 'Notebook'; }
  /** Why it is not kept: `refused`, `full`, `renewed`, `cleared`, `gone`; nothing where it is. */
  get trouble() { return this.#trouble; }
  /** Whether everything is on the disk. */
  get kept() { return !this.#keeping && this.#pending.length === 0; }

  /** Opens the notebook that was open last, where there is one. */
  async start() {
    const last = recall();
    if (!last) return;
    const store = await this.#opened();
    if (!store) return;
    if (await store.notebook(last)) await this.open(last);
    else this.#troubled('gone');
  }

  /** The notebooks of this browser. */
  async list() {
    const store = await this.#opened();
    return store ? store.notebooks() : [];
  }

  /** Begins a notebook of that name. */
  async create(name) {
    const store = await this.#opened();
    await this.#named(store, undefined);
    const id = crypto.randomUUID?.() ?? `${freshDevice()}-${Date.now().toString(36)}`;
    const release = await holding(id);
    this.close();
    this.#begin(id, release);
    this.record([{ do: 'name-notebook', name }]);
  }

  /** Opens a notebook of this browser, or `anew` one that it has not; whether it was there. */
  async open(id, anew = false) {
    const store = await this.#opened();
    const release = await holding(id);
    if (store && !anew && !await store.notebook(id)) {
      release();
      this.#troubled('gone');
      return false;
    }
    const texts = store ? await store.changes(id) : [];
    await this.#named(store, id);
    this.close();
    this.#begin(id, release);
    this.#take(texts);
    // What another tab did while this one read.
    await this.#catchUp();
    return true;
  }

  /** What a notebook that is not open holds, to be looked at and copied; nothing where it is not there. */
  async look(id) {
    const store = await this.#opened();
    const book = store && await store.notebook(id) && Book.open(id, 'none');
    if (!book) return null;
    book.take(JSON.stringify(await store.changes(id)));
    const [shown, changes] = [JSON.parse(book.shown()), JSON.parse(book.changes())];
    book.free();
    return { id, name: shown.name?.value ?? 'Notebook', shown, changes: () => changes, file: (hash) => store.file(hash) };
  }

  /** Deletes a notebook that is open nowhere; why not, where it cannot be. */
  async remove(id) {
    // What was done last in it may still be on its way.
    await this.#keeping;
    if (id === this.id || this.#pending.some((one) => one.id === id)) return 'It is open here. Close it first.';
    try {
      const done = await alone(id, () => this.#store.remove(id));
      return done ? null : 'It is open in another tab. Close it there first.';
    } catch (error) {
      return `The browser could not delete it (${error?.message || error}). It is as it was; reload the page and try again.`;
    }
  }

  /** Closes it; it stays in the browser. */
  close() {
    if (!this.#book) return;
    this.#book.free();
    this.#release();
    this.#book = this.#shown = null;
    remember(null);
    if (this.#trouble !== 'refused') this.#trouble = null;
    this.#on.changed(null);
    this.#on.state();
  }

  /** Gets a device's name for this tab. */
  async #named(store, id) {
    this.#device ??= await store?.device(id && (await store.notebook(id))?.device).catch(() => null) ?? freshDevice();
  }

  #begin(id, release) {
    this.#book = Book.open(id, this.#device);
    this.#release = release;
    remember(id);
    // The browser is asked not to clear it when it is short of room.
    navigator.storage?.persist?.().catch(() => {});
    this.#refresh();
  }

  /** Names that the next changes will have. */
  next(count) { return JSON.parse(this.#book.next(count)); }

  /** Does what `acts` say, as one act of the user; with `[hash, bytes]` of files that they name. Why not, where it may not be. */
  record(acts, files = []) { return this.#did(this.#book.record(now(), JSON.stringify(acts)), files); }

  undo() { return this.#did(this.#book.undo(now())); }
  redo() { return this.#did(this.#book.redo(now())); }

  #did(answer, files = []) {
    const { changes, refused } = JSON.parse(answer);
    if (refused) return refused;
    this.#keep(changes, files);
    this.#refresh();
    return null;
  }

  /** Takes in a copy: its changes, and its files. How many changes were new. */
  merge(changes, files) {
    const { changes: fresh, refused } = JSON.parse(this.#book.take(JSON.stringify(changes.map(({ text }) => text))));
    this.#keep(fresh, files);
    this.#refresh();
    return { count: fresh.length, refused };
  }

  /** How what was seen of a tube moves the confidences of a report. */
  weighed(report, tube) { return JSON.parse(this.#book?.weighed(report, tube) ?? 'null'); }

  /** The bytes of a file; nothing where they are not kept. */
  async file(hash) {
    return this.#files.get(hash) ?? await this.#store?.file(hash).catch(() => undefined) ?? this.#on.bytes(hash);
  }

  /** The bytes of several files by their sums. */
  async files(hashes) {
    const kept = await this.#store?.files(hashes).catch(() => []) ?? [];
    const found = await Promise.all(hashes.map((hash, i) => this.#files.get(hash) ?? kept[i] ?? this.#on.bytes(hash)));
    return new Map(hashes.map((hash, i) => [hash, found[i]]));
  }

  /** What this build found before, by names; nothing for what is not kept. */
  async answers(names) {
    return (BUILD && await this.#store?.answers(BUILD, names).catch(() => null)) || names.map(() => undefined);
  }

  /** Keeps what was found, `[name, answer]` each, if there is room. */
  async keepAnswers(answers) {
    if (BUILD && answers.length) await this.#store?.keepAnswers(BUILD, answers).catch(() => {});
  }

  /** All changes, `{key, text}`. */
  changes() { return JSON.parse(this.#book.changes()); }

  #refresh() {
    this.#shown = JSON.parse(this.#book.shown());
    this.#on.changed(this.#shown);
  }

  /** What another tab did. */
  #take(texts) {
    const { changes } = JSON.parse(this.#book.take(JSON.stringify(texts)));
    if (changes.length) this.#refresh();
  }

  async #catchUp() {
    const { id } = this;
    if (!id || !this.#store) return;
    try {
      const own = this.#pending.filter((one) => one.id === id).reduce((n, { changes }) => n + changes.length, 0);
      if (await this.#store.size(id) <= this.#book.size() - own) return;
      const texts = await this.#store.changes(id);
      if (this.id === id) this.#take(texts);
    } catch {
      // What is wrong with the store is said where something is to be kept.
    }
  }

  #keep(changes, files) {
    for (const [hash, bytes] of files) this.#files.set(hash, bytes);
    if (changes.length || files.length) this.#pending.push({ id: this.id, changes, files });
    this.#on.state();
    this.#keeping ??= this.#flush();
  }

  /** Puts on the disk what is not there yet; what fails is tried again with the next change. */
  async #flush() {
    let emptied = false;
    // What is done in one go is kept in one go.
    await Promise.resolve();
    try {
      while (this.#pending.length && this.#store) {
        const { id } = this.#pending[0];
        const batch = this.#pending.filter((one) => one.id === id);
        const changes = batch.flatMap((one) => one.changes);
        const files = batch.flatMap((one) => one.files);
        const name = id === this.id ? this.name : (await this.#store.notebook(id).catch(() => null))?.name ?? 'Notebook';
        try {
          await this.#store.append({ id, name, used: now(), device: this.#device }, changes, files);
        } catch (error) {
          // What can be found again makes room for what cannot.
          if (error?.name === 'QuotaExceededError' && !emptied) {
            emptied = true;
            await this.#store.forgetAnswers(null).catch(() => {});
            continue;
          }
          this.#troubled(error?.name === 'QuotaExceededError' ? 'full' : this.#trouble ?? 'failed');
          return;
        }
        this.#pending = this.#pending.filter((one) => !batch.includes(one));
        for (const [hash] of files) this.#files.delete(hash);
        this.#channel?.postMessage({ id, texts: changes.map(({ text }) => text) });
        this.#troubled(null);
      }
    } finally {
      // In the same breath as the last look at what is pending, or a change might slip in between.
      this.#keeping = null;
      this.#on.state();
    }
  }

  /** The store, where the browser has one. */
  async #opened() {
    if (this.#store || this.#trouble === 'refused') return this.#store;
    try {
      this.#store = await Store.open((why) => {
        this.#store = null;
        this.#troubled(why);
      });
      if (BUILD) this.#store.forgetAnswers(BUILD).catch(() => {});
    } catch {
      this.#store = null;
      this.#troubled('refused');
    }
    return this.#store;
  }

  #troubled(why) {
    if (this.#trouble === why) return;
    this.#trouble = why;
    this.#on.state();
  }
}

function recall() {
  try {
    return localStorage.getItem(LAST);
  } catch {
    return null;
  }
}

function remember(id) {
  try {
    if (id) localStorage.setItem(LAST, id);
    else localStorage.removeItem(LAST);
  } catch {
    // Refused: it is chosen from the list the next time.
  }
}
