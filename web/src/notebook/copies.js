// Copies of a notebook as files: saved, and opened.
import { save } from '../dom.js';

/** Has one thing done by a worker of its own. */
function packed(message) {
  const worker = new Worker(new URL('./packer.js', import.meta.url), { type: 'module' });
  return new Promise((resolve) => {
    worker.addEventListener('message', ({ data }) => resolve(data));
    worker.addEventListener('error', (event) => {
      event.preventDefault();
      resolve({ refused: { what: `the notebook could not be written or read: ${event.message || 'the worker could not be started'}`, mend: 'Reload the page and try again.' } });
    });
    worker.postMessage(message);
  }).finally(() => worker.terminate());
}

/** Saves a copy of the open notebook; why not, where it cannot be, and how many files are missing in it. */
export async function saveCopy(notebook) {
  const { id, name, shown } = notebook;
  const hashes = [...new Set([...shown.sources, ...shown.photos].map(({ hash }) => hash))];
  const texts = notebook.changes().map(({ text }) => text);
  const files = (await Promise.all(hashes.map((hash) => notebook.file(hash)))).filter(Boolean);
  const { blob, refused } = await packed({ write: { id, texts, files } });
  if (blob) save(`${name.replace(/[^\p{L}\p{N}_-]+/gu, '-') || 'notebook'}.json`, 'application/json', blob);
  return { refused, missing: hashes.length - files.length };
}

/** What a saved copy holds: `{id, name, changes, files}`, or `refused`. */
export const openCopy = (file) => packed({ read: file });
