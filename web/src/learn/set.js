// A set of exercises to print: the curves, then the answers on a page of their own.
import { look } from '../canvas.js';
import { $, h } from '../dom.js';
import { LessonBench } from '../engine.js';
import { MARK } from '../local.js';
import { valueOf } from './pairs.js';
import { exercise, marked } from './program.js';

const SIZE = { width: 700, height: 360 };
const MOST = 24;

/** Puts a set together and prints it. */
export function printSet(choices, { count, seed, level }) {
  const many = Math.max(1, Math.min(MOST, Math.round(count) || 1));
  const first = Math.max(1, Math.min(999_999 - many, Math.round(seed) || 1));
  const all = Array.from({ length: many }, (_, i) => ({ number: first + i, ...exercise(first + i, level) }));
  $('printed-set').replaceChildren(
    h('h1', {}, 'What is wrong with these tubes?'),
    h('p', {}, 'Of each: what is wrong, in which section, and what would you measure next? Every tube is simulated.'),
    ...all.map(figure),
    h('div', { class: 'answers' }, h('h1', {}, 'Answers'), h('ol', {}, all.map((one) => h('li', { value: one.number }, answer(one, choices))))));
  document.body.classList.add('set');
  addEventListener('afterprint', () => document.body.classList.remove('set'), { once: true });
  print();
}

function figure({ number, setting }) {
  const bench = new LessonBench(JSON.stringify({ ...JSON.parse(look()), theme: 'light' }));
  const options = { ...SIZE, current: 'decades', grid_current: valueOf(setting, 'ig') === 'yes', decimal_mark: MARK };
  bench.set(JSON.stringify(setting), JSON.stringify(options), true);
  const drawing = new DOMParser().parseFromString(bench.svg(`Tube ${number}`), 'image/svg+xml').documentElement;
  bench.free();
  return h('figure', {}, h('figcaption', {}, `${number}. ${valueOf(setting, 'type')}`), document.importNode(drawing, true));
}

function answer({ number, level }) {
  const { title, section, settles } = marked(number, level, { fault: null, section: null, next: 'nothing' });
  return `${title}${section ? `, section ${section}` : ''}. Next: ${settles.join('; ').toLowerCase()}.`;
}
