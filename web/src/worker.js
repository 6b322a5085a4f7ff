// Reads and diagnoses one file at a time, and compares a lot, away from the document.
import init, { compared, forget, read } from '../sweepbook_page.js';

const ready = init({ module_or_path: new URL('../sweepbook_page_bg.wasm', import.meta.url) });

self.addEventListener('message', async ({ data: { id, name, file, how, forgotten, members } }) => {
  if (forgotten) {
    await ready;
    forget();
    return;
  }
  if (members !== undefined) {
    await ready;
    try {
      self.postMessage({ comparison: compared(members), of: id });
    } catch (error) {
      self.postMessage({ comparison: null, of: id, why: error.message || String(error) });
    }
    return;
  }
  let bytes;
  try {
    await ready;
    bytes = new Uint8Array(await file.arrayBuffer());
  } catch (error) {
    self.postMessage({ id, unopened: error.message || String(error) });
    return;
  }
  try {
    self.postMessage({ id, answer: read(name, bytes, how) });
  } catch (error) {
    // The program stopped where it stood; this worker is replaced.
    self.postMessage({ id, trap: error.message || String(error) });
  }
});
