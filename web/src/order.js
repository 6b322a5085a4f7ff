// The orders in which a lot can be shown.
import { COLUMNS, VERDICTS } from './engine.js';

const RANK = new Map(VERDICTS.map((verdict, i) => [verdict.name, i]));
const naming = new Intl.Collator(undefined, { numeric: true });
const figure = ({ head }, i) => [head, { says: `by ${head}`, by: ({ row }) => row.cells[i]?.by ?? null }];

/** By name: what to say of each, and what of a tube it goes by, a text or a number; nothing comes last. */
export const ORDERS = {
  read: { says: 'as read', by: () => null },
  worst: { says: 'worst first', by: ({ sheet }) => RANK.get(sheet.verdict) },
  name: { says: 'by name', by: ({ sheet }) => sheet.tube },
  type: { says: 'by type', by: ({ sheet }) => sheet.kind },
  own: { says: 'by your decision', by: ({ own }) => (own ? RANK.get(own) : null) },
  ...Object.fromEntries(COLUMNS.map(figure)),
};

/** The tubes in an order `{by, down}`; equal ones as they were read. */
export function inOrder(entries, { by, down }) {
  const keyed = entries.map((entry) => [ORDERS[by].by(entry) ?? null, entry]);
  const sign = down ? -1 : 1;
  keyed.sort(([a], [b]) => {
    if (a === null || b === null) return Number(a === null) - Number(b === null);
    return sign * (typeof a === 'string' ? naming.compare(a, b) : a - b);
  });
  return keyed.map(([, entry]) => entry);
}
