// Takes spreadsheets and archives apart. The program for it is two thirds as large
// as the page's own, and is fetched only when the first such file comes.

/** It could not be fetched. */
export class Unloaded extends Error {}
/** It stopped where it stood, on a damaged file. */
export class Stopped extends Error {}

const GLUE = new URL('../sweepbook_sheets_page.js', import.meta.url);

let program = null;
let serial = 0;

/**
 * The tables of a file, each `[name, sheet, bytes]`, and what of it could not be taken
 * apart, as JSON.
 */
export async function unpack(name, bytes) {
  const { unpack: apart } = await loaded();
  try {
    const unpacked = apart(name, bytes);
    const tables = [];
    for (let table = unpacked.take_table(); table; table = unpacked.take_table()) tables.push([table.name(), table.sheet(), table.bytes()]);
    const failed = unpacked.failed();
    unpacked.free();
    return { tables, failed };
  } catch (error) {
    // What it holds is not to be trusted any more: the next file gets a fresh one.
    program = null;
    throw new Stopped(error.message || String(error));
  }
}

async function loaded() {
  if (program) return program;
  try {
    // A number behind the address, since a browser does not try the same one again.
    const fresh = await import(`${GLUE}#${serial++}`);
    await fresh.default({ module_or_path: new URL('../sweepbook_sheets_page_bg.wasm', import.meta.url) });
    program = fresh;
    return program;
  } catch (error) {
    throw new Unloaded(error.message || String(error));
  }
}
