// Shapes that stand beside words: a verdict is never told by colour alone, nor
// a section.
import { s } from './dom.js';

// A body and the sign cut into it; 20 by 20.
const VERDICTS = {
  accept: ['M10 1a9 9 0 1 0 0 18 9 9 0 0 0 0-18z', 'M5.5 10.4l3 3 6-6.6'],
  restrict: ['M10 1.2l9.2 16.6H.8z', 'M10 7v5M10 14.2v1.6'],
  retest: ['M10 .6L19.4 10 10 19.4.6 10z', 'M5.6 10h.4M9.8 10h.4M14 10h.4'],
  reject: ['M2 2h16v16H2z', 'M6 6l8 8M14 6l-8 8'],
};

/** The shape of a verdict. */
export function verdictShape(verdict, size = 20) {
  const [body, sign] = VERDICTS[verdict];
  return s('svg', { viewBox: '0 0 20 20', width: size, height: size, class: `shape ${verdict}`, 'aria-hidden': 'true' },
    s('path', { class: 'body', d: body }),
    s('path', { class: 'sign', d: sign }));
}

// The same shapes and dashes as in the figure (palette.rs).
const SECTIONS = [
  ['M0 6h24', null, 'M12 3a3 3 0 1 0 0 6 3 3 0 0 0 0-6z', true],
  ['M0 6h24', '6 3', 'M9 3h6v6H9z', false],
  ['M0 6h24', '2 3', 'M12 2l4 7H8z', true],
  ['M0 6h24', '9 3', 'M12 2l4 4-4 4-4-4z', false],
];

/** The line and point of a section. */
export function sectionShape(index) {
  const place = index % SECTIONS.length;
  const [line, dash, point, filled] = SECTIONS[place];
  return s('svg', { viewBox: '0 0 24 12', width: 24, height: 12, class: `series series-${place}`, 'aria-hidden': 'true' },
    s('path', { class: 'line', d: line, 'stroke-dasharray': dash }),
    s('path', { class: filled ? 'point filled' : 'point', d: point }));
}

/** The ring and band of a marked point. */
export function markShape() {
  return s('svg', { viewBox: '0 0 26 14', width: 26, height: 14, class: 'mark-shape', 'aria-hidden': 'true' },
    s('path', { class: 'band', d: 'M2 7h22' }),
    s('circle', { class: 'ring', cx: 7, cy: 7, r: 5 }),
    s('circle', { class: 'ring', cx: 19, cy: 7, r: 5 }));
}
