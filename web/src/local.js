// Numbers on the screen as the user writes them. The program writes a decimal point, in files and in what it says; what
// is shown gets the mark of the user's locale.

/** The decimal mark. */
export const MARK = new Intl.NumberFormat().formatToParts(1.5).find(({ type }) => type === 'decimal')?.value ?? '.';

/** What is no number, whatever it looks like: names, files, drawings, and what goes into files. */
const AS_IT_IS = new Set(['tube', 'source', 'kind', 'section', 'name', 'from', 'path', 'thumb', 'svg', 'by', 'marks', 'axis', 'judged', 'report', 'member']);

/** A decimal point between digits, in no version and no name. */
const POINT = /(?<![\w.])(\d+)\.(\d+)(?![\w]|\.\d)/g;

/** A text, or every text in a value that the program gave, as it is shown. */
export function local(value) {
  if (MARK === '.') return value;
  if (typeof value === 'string') return value.replace(POINT, `$1${MARK}$2`);
  if (Array.isArray(value)) return value.map(local);
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, AS_IT_IS.has(key) ? one : local(one)]));
}
