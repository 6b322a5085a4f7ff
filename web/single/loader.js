// Gives each part of the single file an address, those that a part names before it, and
// starts the page. A part is its name and its text, cut where it names another one.

/** The address of the last part: it is the one that needs the others. */
function addressOf(parts) {
  const address = (text) => URL.createObjectURL(new Blob([text], { type: 'text/javascript' }));
  const known = new Map();
  const addresses = new Map();
  for (const part of parts) {
    if (part.worker) {
      const those = part.parts.map((name) => known.get(name));
      addresses.set(part.worker, address(`${addressOf}\n${work}\nwork(${JSON.stringify(those)});`));
    } else {
      const [name, ...pieces] = part;
      known.set(name, part);
      addresses.set(name, address(pieces.map((piece, place) => (place % 2 ? addresses.get(piece) : piece)).join('')));
    }
  }
  return [...addresses.values()].at(-1);
}

/**
 * Starts a worker, within it: to Chromium the worker of a page from a file is a stranger, which
 * may not load what has an address of the page's and is no module itself. So it makes its own.
 */
function work(parts) {
  const held = [];
  const hold = (event) => {
    event.stopImmediatePropagation();
    held.push(event.data);
  };
  addEventListener('message', hold);
  import(addressOf(parts)).then(() => {
    removeEventListener('message', hold);
    for (const data of held) dispatchEvent(new MessageEvent('message', { data }));
    // An error, not a refused promise: the page hears of it.
  }, (error) => setTimeout(() => { throw error; }));
}

const parts = document.getElementById('parts');
try {
  const start = addressOf(JSON.parse(parts.textContent));
  parts.remove();
  await import(start);
} catch (error) {
  const broken = document.getElementById('broken');
  broken.hidden = false;
  broken.textContent = `sweepbook could not start (${error.message}). Try a newer browser, or serve the page with the program sweepbook: some browsers do not let a page from a file load its parts.`;
}
