// How files with the same headings were read the last time: kept on this machine
// and offered, never applied by itself. A browser may refuse to keep anything;
// then it lasts until the page is closed.

const KEY = 'sweepbook/readings/1';
/** Kept at most; the oldest go first. */
const MOST = 60;
/** Headings longer than this are not kept: such a table comes once. */
const LONGEST = 2000;

let readings = load();

function load() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '[]');
    if (!Array.isArray(kept)) return [];
    const whole = ({ shape, file, options } = {}) => typeof shape === 'string' && typeof file === 'string'
      && Array.isArray(options) && options.every((option) => typeof option === 'string');
    return kept.filter((one) => one && whole(one)).slice(-MOST);
  } catch {
    return [];
  }
}

function keep() {
  try {
    localStorage.setItem(KEY, JSON.stringify(readings));
  } catch {
    // Refused or full: it is still known to this page.
  }
}

const keyOf = (option) => option.split('=', 1)[0];

/** The reading of files of this shape: `{file, options}`, or nothing. */
export const recall = (shape) => readings.find((reading) => reading.shape === shape);

/** Keeps one answer for files of this shape. */
export function remember(shape, file, option) {
  if (shape.length > LONGEST) return;
  const options = (recall(shape)?.options ?? []).filter((other) => keyOf(other) !== keyOf(option));
  readings = [...readings.filter((reading) => reading.shape !== shape), { shape, file, options: [...options, option] }].slice(-MOST);
  keep();
}

/** Forgets what was answered for files of this shape. */
export function forgetReading(shape) {
  readings = readings.filter((reading) => reading.shape !== shape);
  keep();
}
