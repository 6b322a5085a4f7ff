// Writes and reads a notebook as one file, away from the document: the files in it may be
// large.
import init, { Packer, Unpacked, sum_of } from '../../sweepbook_page.js';

const ready = init({ module_or_path: new URL('../../sweepbook_page_bg.wasm', import.meta.url) });

self.addEventListener('message', async ({ data: { write, read } }) => {
  try {
    await ready;
    self.postMessage(write ? written(write) : await opened(read));
  } catch (error) {
    self.postMessage({ refused: { what: `the notebook could not be ${write ? 'written' : 'read'}: ${error.message || error}`, mend: 'Try again with fewer other pages open.' } });
  }
});

function written({ id, texts, files }) {
  const packer = Packer.of(id, JSON.stringify(texts));
  for (const bytes of files) packer.add(new Uint8Array(bytes));
  const text = packer.write();
  packer.free();
  return text.startsWith('{"refused"') ? JSON.parse(text) : { blob: new Blob([text], { type: 'application/json' }) };
}

async function opened(file) {
  const unpacked = new Unpacked(new Uint8Array(await file.arrayBuffer()));
  const said = JSON.parse(unpacked.said());
  const files = [];
  for (let bytes = unpacked.take_file(); bytes; bytes = unpacked.take_file()) files.push([sum_of(bytes), bytes.buffer]);
  unpacked.free();
  return { ...said, files };
}
