// The bar of the open notebook, what is wrong with keeping it, and the list of notebooks.
import { $, announce, count, h, sentence } from '../dom.js';
import { openCopy, saveCopy } from './copies.js';
import { Forget } from './forget.js';

const TROUBLE = {
  refused: 'This browser keeps nothing for this page: its storage is switched off. What you do stays only as long as the page is open.',
  full: 'The browser’s store is full. What you do from here on stays only as long as the page is open.',
  renewed: 'A newer version of sweepbook was opened in another tab. What you do from here on is not kept: reload the page.',
  cleared: 'The browser has cleared its store. What is on this page is still here, and is not kept any more.',
  failed: 'The browser could not keep the last change. What you do from here on stays only as long as the page is open.',
  gone: 'The notebook is gone: it was deleted in another tab, or the browser has cleared its store. Open a copy of it if you saved one.',
};

/** The bar and its dialog. */
export class Bar {
  #notebook;
  #on;
  #forget;

  /** `on.create(name)`, `on.open(id)`, `on.close()` when the user asks for it, `on.copied(copy)` for the copy that was opened. */
  constructor(notebook, on) {
    this.#notebook = notebook;
    this.#on = on;
    this.#forget = new Forget(notebook, async () => {
      await this.#fill();
      $('books-title').focus();
    });
    $('books-open').addEventListener('click', () => this.#open());
    $('book-name').addEventListener('click', () => this.#open());
    $('book-undo').addEventListener('click', () => this.#step('undo'));
    $('book-redo').addEventListener('click', () => this.#step('redo'));
    for (const button of document.querySelectorAll('[data-do=save-copy]')) button.addEventListener('click', () => this.#save());
    for (const button of document.querySelectorAll('[data-do=open-copy]')) button.addEventListener('click', () => $('books-file').click());
    $('books-file').addEventListener('change', (event) => this.#copy(event.target));
    $('books-form').addEventListener('submit', (event) => this.#begin(event));
    $('books-rename').addEventListener('submit', (event) => this.#rename(event));
    $('books-close').addEventListener('click', () => { $('books').close(); this.#on.close(); });
    $('books-done').addEventListener('click', () => $('books').close());
    addEventListener('keydown', (event) => this.#key(event));
    this.state();
  }

  /** How it is kept. */
  state() {
    const { id, kept, trouble, name, shown } = this.#notebook;
    $('book').hidden = !id;
    if (id) {
      $('book-name').textContent = name;
      const also = shown?.name?.also ?? [];
      $('book-also').textContent = also.length ? `also called ${also.map(({ value }) => value).join(', ')}` : '';
      $('book-kept').textContent = trouble ? 'Not kept' : kept ? 'Kept on this machine' : 'Keeping…';
      $('book-kept').dataset.state = trouble ? 'not' : kept ? 'kept' : 'keeping';
      $('book-undo').disabled = !shown?.undo;
      $('book-redo').disabled = !shown?.redo;
    }
    $('book-trouble').hidden = !trouble;
    // Said again only where it is another one.
    const text = TROUBLE[trouble] ?? '';
    if ($('book-trouble-text').textContent !== text) $('book-trouble-text').textContent = text;
    $('book-trouble-save').hidden = !id;
    $('book-trouble-open').hidden = trouble !== 'gone';
    $('books-current').hidden = !id;
  }

  #step(way) {
    const refused = this.#notebook[way]();
    announce(refused ? `${refused.what}. ${refused.mend}` : way === 'undo' ? 'Taken back' : 'Done again');
    // A button that is used up would swallow the next key.
    if (document.activeElement === document.body || document.activeElement?.disabled) $('book-name').focus();
  }

  #key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || event.key.toLowerCase() !== 'z' || !this.#notebook.id) return;
    // In a field the keys take back what is being written there.
    if (event.target.closest?.('input:not([type=radio], [type=checkbox]), textarea, select, dialog')) return;
    event.preventDefault();
    const way = event.shiftKey ? 'redo' : 'undo';
    if (this.#notebook.shown[way]) this.#step(way);
    else announce(way === 'undo' ? 'Nothing to take back' : 'Nothing to do again');
  }

  async #save() {
    if (!this.#notebook.id) return;
    const { refused, missing } = await saveCopy(this.#notebook);
    if (refused) this.#say(`${sentence(refused.what)} ${refused.mend}`);
    else announce(missing ? `Saved without ${count(missing, 'file')} whose bytes are not here` : 'A copy was saved');
  }

  async #copy(input) {
    const [file] = input.files;
    input.value = '';
    if (!file) return;
    const copy = await openCopy(file);
    if (copy.refused) {
      const { line, column, what, mend } = copy.refused;
      const where = line ? `, line ${line}${column ? `, column ${column}` : ''}` : '';
      if (!$('books').open) await this.#open();
      this.#say(`${file.name}${where}: ${sentence(what)} ${mend}`);
      return;
    }
    $('books').close();
    announce(await this.#on.copied(copy));
  }

  async #open() {
    this.#say('');
    $('books-name').value = '';
    $('books-new-name').value = this.#notebook.name;
    await this.#fill();
    $('books').showModal();
    $('books-title').focus();
  }

  async #fill() {
    const books = await this.#notebook.list();
    $('books-none').hidden = books.length > 0;
    $('books-list').replaceChildren(...books.map(({ id, name, used }) => h('li', {},
      h('span', {}, h('b', {}, name), h('span', { class: 'soft' }, ` last changed ${new Date(used).toLocaleString()}`)),
      id === this.#notebook.id ? h('span', { class: 'soft' }, 'open') : h('span', { class: 'book-tools' },
        h('button', { type: 'button', class: 'small', 'aria-label': `Open ${name}`, onclick: () => { $('books').close(); this.#on.open(id); } }, 'Open'),
        h('button', { type: 'button', class: 'small', 'aria-label': `Delete ${name}`, onclick: () => this.#forget.ask(id) }, 'Delete…')))));
  }

  #begin(event) {
    event.preventDefault();
    const name = $('books-name').value.trim();
    if (!name) {
      this.#say('It has no name. Give it one by which you know it.', 'books-name');
      return;
    }
    $('books').close();
    this.#on.create(name);
  }

  #rename(event) {
    event.preventDefault();
    const refused = this.#notebook.record([{ do: 'name-notebook', name: $('books-new-name').value.trim() }]);
    if (refused) this.#say(`${sentence(refused.what)} ${refused.mend}`, 'books-new-name');
    else {
      $('books').close();
      announce(`It is called ${this.#notebook.name}`);
    }
  }

  #say(text, field) {
    $('books-bad').textContent = text;
    $('books-bad').hidden = !text;
    for (const one of ['books-name', 'books-new-name']) $(one).setAttribute('aria-invalid', String(one === field));
    if (field) $(field).focus();
  }
}
