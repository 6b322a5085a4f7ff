// The faults to choose from, those of the tube apart from those of the bench.
import { h } from '../dom.js';

/** Two groups of options. */
export const faultOptions = (faults) => [['Of the tube', false], ['Of the bench', true]].map(([label, of]) => h('optgroup', { label },
  faults.filter(({ bench }) => bench === of).map(({ name, title }) => h('option', { value: name }, title))));
