// Reads and diagnoses one file at a time, and compares a lot, away from the document.
import init, { Tables, compared, damaged, differences, forget, is_packed, join, leave, lesson, matched, not_loaded, overlay, paper, pieces, read, read_tables, restore, restore_tables, staged } from '../sweepbook_page.js';
import { Stopped, Unloaded, unpack } from './unpack.js';

/** Once the program is there, and what was asked before has been taken over. */
let ready = init({ module_or_path: new URL('../sweepbook_page_bg.wasm', import.meta.url) });

self.addEventListener('message', async ({ data: { id, name, file, how, forgotten, members, offers, joined, left, asked, restored } }) => {
  if (restored) {
    ready = ready.then(() => takeOver(restored));
    return;
  }
  if (forgotten) {
    await ready;
    forget();
    return;
  }
  if (left !== undefined) {
    await ready;
    self.postMessage({ left: leave(left) });
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
  if (offers) {
    await ready;
    self.postMessage({ pieces: pieces() });
    return;
  }
  if (asked) {
    await ready;
    self.postMessage({ told: tell(asked) ?? null, of: id });
    return;
  }
  if (joined) {
    await ready;
    self.postMessage({ answer: join(new Uint32Array(joined)), joined: id });
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
    self.postMessage({ id, answer: is_packed(bytes) ? await packed(name, bytes, how) : read(name, bytes, how) });
  } catch (error) {
    // The program stopped where it stood; this worker is replaced.
    self.postMessage({ id, trap: error.message || String(error) });
  }
});

/** Takes over tubes that were judged in another worker, file by file; says of which that was not possible. */
async function takeOver(files) {
  for (const { key, name, file, how, kept } of files) {
    let taken = false;
    try {
      const bytes = new Uint8Array(await file.arrayBuffer());
      const judged = JSON.stringify(kept);
      if (is_packed(bytes)) taken = restore_tables(name, (await tablesOf(name, bytes)).tables, how, judged);
      else taken = restore(name, bytes, how, judged);
    } catch {
      // It is read anew, and what is wrong with it said then.
    }
    if (!taken) self.postMessage({ stale: key });
  }
}

/** What is asked about tubes that were read. */
function tell({ what, ids, how }) {
  if (what === 'staged') return staged(new Uint32Array(ids), JSON.stringify(how));
  if (what === 'lesson') return lesson(how);
  if (what === 'paper') return paper(new Uint32Array(ids), JSON.stringify(how));
  if (what === 'matched') return matched(new Uint32Array(ids), JSON.stringify(how));
  if (what === 'differences') return differences(JSON.stringify(ids), how.width, how.height);
  return overlay(JSON.stringify(ids), how.width, how.height);
}

/** A spreadsheet or an archive, taken apart by a program of its own. */
async function packed(name, bytes, how) {
  try {
    const { tables, failed } = await tablesOf(name, bytes);
    // The tables are the program's with that, and freed by it.
    return read_tables(name, tables, failed, how);
  } catch (error) {
    if (error instanceof Unloaded) return not_loaded(name, error.message);
    if (error instanceof Stopped) return damaged(name);
    throw error;
  }
}

async function tablesOf(name, bytes) {
  const unpacked = await unpack(name, bytes);
  const tables = new Tables();
  for (const table of unpacked.tables) tables.add(...table);
  return { tables, failed: unpacked.failed };
}
