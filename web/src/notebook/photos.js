// Photos of a tube: made smaller, kept by their sum.
import { $, announce, h } from '../dom.js';
import { sumOf } from './notebook.js';

/** The longest side that is kept, pixels: enough to read a label (by construction). */
const LONGEST = 1600;
/** Quality of the JPEG: marks of the compression do not show at this size (by construction). */
const QUALITY = 0.85;

/** A photo as it is kept: `{bytes, width, height}`. What else the camera wrote into the file is left out. */
async function smaller(file) {
  const picture = await createImageBitmap(file, { imageOrientation: 'from-image' });
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = h('canvas', { width: Math.max(1, Math.round(picture.width * scale)), height: Math.max(1, Math.round(picture.height * scale)) });
  const context = canvas.getContext('2d');
  // JPEG knows nothing that shows through.
  context.fillStyle = '#fff';
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const blob = await new Promise((resolve) => { canvas.toBlob(resolve, 'image/jpeg', QUALITY); });
  if (!blob) throw new Error('the picture could not be written');
  return { bytes: await blob.arrayBuffer(), width: canvas.width, height: canvas.height };
}

/** The photos of the tube on the sheet. */
export class Photos {
  #notebook;
  /** Addresses of what is shown, by sum. */
  #urls = new Map();
  #shown = '';

  /** `needed()` resolves to the notebook's tube of the sheet. */
  constructor(notebook, needed) {
    this.#notebook = notebook;
    $('own-photo-add').addEventListener('click', () => $('own-photo-file').click());
    $('own-photo-file').addEventListener('change', async (event) => {
      const files = [...event.target.files];
      event.target.value = '';
      for (const file of files) await this.#add(file, needed);
    });
  }

  /** Shows those of a tube of the notebook; none for nothing. */
  async show(tube) {
    const photos = tube ? this.#notebook.shown.photos.filter(({ of }) => of === tube.id) : [];
    const now = JSON.stringify([tube?.id, photos]);
    if (now === this.#shown) return;
    this.#shown = now;
    const wanted = new Set(photos.map(({ hash }) => hash));
    for (const [hash, url] of this.#urls) {
      if (wanted.has(hash)) continue;
      URL.revokeObjectURL(url);
      this.#urls.delete(hash);
    }
    for (const hash of wanted) {
      const bytes = this.#urls.has(hash) ? null : await this.#notebook.file(hash);
      // Another tube may have come in the meantime.
      if (this.#shown !== now) return;
      if (bytes) this.#urls.set(hash, URL.createObjectURL(new Blob([bytes], { type: 'image/jpeg' })));
    }
    $('own-photos').replaceChildren(...photos.map((photo, i) => this.#figure(photo, i)));
  }

  #figure({ id, hash, caption, width, height }, i) {
    const url = this.#urls.get(hash);
    const words = caption.value || `Photo ${i + 1} of the tube`;
    return h('li', {},
      url ? h('a', { href: url, target: '_blank', 'aria-label': `${words}, in full size` }, h('img', { src: url, alt: words, width, height }))
        : h('span', { class: 'soft' }, 'Its bytes are not kept in this browser.'),
      h('label', { class: 'field' }, 'What it shows', h('input', { value: caption.value, maxlength: 300, autocomplete: 'off', onchange: ({ target }) => this.#did([{ do: 'set-photo', photo: id, caption: target.value.trim() }], 'The caption is kept') })),
      h('button', { type: 'button', class: 'small', 'aria-label': `Remove: ${words}`, onclick: () => {
        this.#did([{ do: 'remove', entry: id, removed: true }], 'Removed; Undo brings it back');
        $('own-photo-add').focus();
      } }, 'Remove'));
  }

  #did(acts, words, files = []) {
    const refused = this.#notebook.record(acts, files);
    announce(refused ? `${refused.what}. ${refused.mend}` : words);
  }

  async #add(file, needed) {
    let small;
    try {
      small = await smaller(file);
    } catch {
      announce(`${file.name} is no picture that this browser can open`);
      $('own-photo-bad').textContent = `${file.name} is no picture that this browser can open. Save it as JPEG or PNG and add that.`;
      $('own-photo-bad').hidden = false;
      return;
    }
    $('own-photo-bad').hidden = true;
    const tube = await needed();
    if (!tube) return;
    const { bytes, width, height } = small;
    const hash = await sumOf(bytes);
    this.#did([{ do: 'add-photo', of: tube.id, hash, bytes: bytes.byteLength, width, height, caption: '' }], 'The photo is added', [[hash, bytes]]);
  }
}
