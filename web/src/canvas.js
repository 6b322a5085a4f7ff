// What the drawings on canvases share: colours, density, keys.
import { $ } from './dom.js';

/** What each key does in a drawing. */
export const STEPS = {
  ArrowLeft: 'back', ArrowRight: 'forward', ArrowUp: 'up', ArrowDown: 'down',
  Home: 'first', End: 'last', PageUp: 'stride-forward', PageDown: 'stride-back',
};
const FONT = 'system-ui, sans-serif';

export const dark = matchMedia('(prefers-color-scheme: dark)');
export const forced = matchMedia('(forced-colors: active)');

/** How it is drawn now, for the program. */
export const look = (marks = []) => JSON.stringify({ theme: theme(), density: devicePixelRatio, font: FONT, marks });

/** A canvas made clear and of this size in CSS pixels. */
export function cleared(canvas, { width, height }) {
  // Setting a canvas's size clears it.
  canvas.width = Math.round(width * devicePixelRatio);
  canvas.height = Math.round(height * devicePixelRatio);
  canvas.style.setProperty('width', `${width}px`);
  canvas.style.setProperty('height', `${height}px`);
  return canvas;
}

/** Calls whenever the screen's density changes. */
export function onDensity(call) {
  // The query only tells that the density left this value: it is asked anew each time.
  matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener('change', () => {
    call();
    onDensity(call);
  }, { once: true });
}

/** Light, dark, or the two colours that the system forces. */
function theme() {
  if (!forced.matches) return dark.matches ? 'dark' : 'light';
  const probe = getComputedStyle($('plot'));
  return { forced: { ground: channels(probe.backgroundColor), ink: channels(probe.color) } };
}

function channels(colour) {
  const numbers = colour.match(/[\d.]+/g)?.slice(0, 3).map((n) => Math.round(Number(n)));
  return numbers?.length === 3 ? numbers : [0, 0, 0];
}
