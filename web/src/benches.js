// Bench profiles: what a bench adds to every sweep, kept on this machine by name and
// chosen for a lot. Core reads them; here they are only texts.
import { $, announce, h, place, save, sentence } from './dom.js';
import { bench as understood } from './engine.js';

const SCHEMA = 'sweepbook/bench/1';
const KEY = 'sweepbook/benches/1';
const FIELDS = ['name', 'grid_source_resistance', 'current_meter', 'current_limit', 'current_resolution'];

/** The kept profiles: `{name, says, text}` by name. */
function load() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '[]');
    return kept.map((text) => ({ ...JSON.parse(understood('kept', String(text))).profile, text })).filter(({ name }) => name);
  } catch {
    return [];
  }
}

/** The choice of the lot's bench, and the panel in which profiles are made. */
export class Benches {
  #kept = load();
  #chosen = '';
  #on;

  /** `on(text)` with the profile of the lot whenever it is another one; nothing for none. */
  constructor(on) {
    this.#on = on;
    $('bench-choice').addEventListener('change', (event) => this.#choose(event.target.value));
    $('bench-edit').addEventListener('click', () => this.#open());
    $('bench-which').addEventListener('change', (event) => this.#edit(event.target.value));
    $('bench-form').addEventListener('submit', (event) => this.#submitted(event));
    $('bench-delete').addEventListener('click', () => this.#delete());
    $('bench-export').addEventListener('click', () => this.#export());
    $('bench-import').addEventListener('click', () => $('bench-file').click());
    $('bench-file').addEventListener('change', (event) => this.#import(event.target));
    $('bench-done').addEventListener('click', () => $('benches').close());
    this.#render();
  }

  /** The lot was closed: the next one may be of another bench. */
  leave() { this.#choose(''); }

  #named(name) { return this.#kept.find((one) => one.name === name); }

  #choose(name) {
    if (name === this.#chosen) return;
    this.#chosen = name;
    this.#render();
    this.#on(this.#named(name)?.text ?? null);
  }

  #render() {
    const option = (name, words = name) => h('option', { value: name, selected: name === this.#chosen }, words);
    const names = this.#kept.map(({ name }) => name).sort((a, b) => a.localeCompare(b, undefined, { numeric: true }));
    $('bench-choice').replaceChildren(option('', 'as the files say'), ...names.map((name) => option(name)));
    const chosen = this.#named(this.#chosen);
    $('bench-says').hidden = !chosen;
    $('bench-says').textContent = chosen ? `${sentence(chosen.says || 'it states nothing').replaceAll('_', ' ')} Where a file says otherwise, the file counts.` : '';
    const which = $('bench-which').value;
    $('bench-which').replaceChildren(h('option', { value: '' }, 'A new one'), ...names.map((name) => h('option', { value: name }, name)));
    $('bench-which').value = this.#named(which) ? which : '';
  }

  #open() {
    this.#edit(this.#chosen);
    $('benches').showModal();
    $(this.#chosen ? 'bench-which' : 'bench-name').focus();
  }

  /** Puts a kept profile into the fields, or empties them. */
  #edit(name) {
    $('bench-which').value = name;
    this.#fill(this.#named(name)?.text ?? '{}');
  }

  #fill(text) {
    const stated = JSON.parse(text);
    for (const field of FIELDS) {
      const input = $(`bench-${field}`);
      const value = String(stated[field] ?? '');
      // A profile may say "anode lead"; the choice has one word for it.
      input.value = field === 'current_meter' && value ? (/cathode/i.test(value) ? 'cathode lead' : 'plate lead') : value;
    }
    this.#say(null);
    const isNew = $('bench-which').value === '';
    $('bench-delete').disabled = $('bench-export').disabled = isNew;
  }

  /** Says what is wrong with the fields: by their names on the page, and without a line of the text they make. */
  #refuse({ what, mend }, stated) {
    const field = stated.name ? FIELDS.find((key) => what.startsWith(`the line "${key}"`)) : 'name';
    if (!field) this.#say({ what, mend });
    else if (field === 'name') this.#say({ what: 'it has no name', mend: 'Give it one by which you know the bench.' }, field);
    else this.#say({ what: `${$(`bench-${field}`).labels[0].firstChild.data.trim()}: "${stated[field]}" cannot be read`, mend }, field);
  }

  /** Shows what is wrong, and goes to the field that it is about. */
  #say(unread, field) {
    for (const one of FIELDS) $(`bench-${one}`).setAttribute('aria-invalid', String(one === field));
    if (field) $(`bench-${field}`).focus();
    $('bench-bad').hidden = !unread;
    const where = unread && unread.source && [unread.source, place(unread)].filter(Boolean).join(', ');
    $('bench-bad').textContent = unread ? `${where ? `${where}: ` : ''}${sentence(unread.what)} ${unread.mend}` : '';
  }

  #submitted(event) {
    event.preventDefault();
    const stated = Object.fromEntries(FIELDS.map((field) => [field, $(`bench-${field}`).value.trim()]).filter(([field, value]) => value || field === 'name'));
    const text = `${JSON.stringify({ schema: SCHEMA, ...stated }, null, 2)}\n`;
    const { profile, unread } = JSON.parse(understood('', text));
    const old = $('bench-which').value;
    if (unread) {
      this.#refuse(unread, stated);
      return;
    }
    if (profile.name !== old && this.#named(profile.name)) {
      this.#say({ what: `there is a profile named ${profile.name} already`, mend: 'Give this one another name, or choose that one above and change it.' }, 'name');
      return;
    }
    this.#kept = [...this.#kept.filter(({ name }) => name !== old), { ...profile, text }];
    this.#keep();
    const was = this.#chosen;
    if (was === old && old) this.#chosen = profile.name;
    this.#render();
    this.#edit(profile.name);
    if (was === old && old) this.#on(text);
    announce(`${profile.name} is kept`);
  }

  #delete() {
    const name = $('bench-which').value;
    this.#kept = this.#kept.filter((one) => one.name !== name);
    this.#keep();
    if (name === this.#chosen) this.#choose('');
    this.#render();
    this.#edit('');
    $('bench-which').focus();
    announce(`${name} is deleted`);
  }

  #export() {
    const { name, text } = this.#named($('bench-which').value);
    save(`bench-${name.replace(/[^\p{L}\p{N}_-]+/gu, '-')}.json`, 'application/json', text);
  }

  async #import(input) {
    const [file] = input.files;
    // So that the same file can be opened again after it was mended.
    input.value = '';
    if (!file) return;
    const text = await file.text();
    const { profile, unread } = JSON.parse(understood(file.name, text));
    if (unread) {
      this.#say(unread);
      return;
    }
    $('bench-which').value = this.#named(profile.name) ? profile.name : '';
    this.#fill(text.replace(/^\ufeff/, ''));
    $('bench-name').focus();
    announce(`${profile.name} is in the fields; keep it to use it`);
  }

  #keep() {
    try {
      localStorage.setItem(KEY, JSON.stringify(this.#kept.map(({ text }) => text)));
    } catch {
      // Refused or full: they are still known to this page.
    }
  }
}
