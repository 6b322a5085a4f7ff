// What the drawings on canvases share: colours, density, keys, and how they are read.
import { $, h } from './dom.js';
import { local } from './local.js';

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

/** Has layers drawn, `draw(layers)` once for all that were asked for within one frame. */
export function painter(draw) {
  let waiting = new Set();
  return (layer) => {
    if (waiting.size === 0) {
      requestAnimationFrame(() => {
        const layers = waiting;
        waiting = new Set();
        draw(layers);
      });
    }
    waiting.add(layer);
  };
}

/** Does something with a drawing; where that fails, `failed` shows, and the rest of the sheet still stands. */
export const attempting = (failed, what) => (work) => {
  try {
    const result = work();
    $(failed).hidden = true;
    return result;
  } catch (error) {
    console.warn(`${what}:`, error);
    $(failed).hidden = false;
    return null;
  }
};

/** A part of a reading as the user writes numbers; what somebody named stays as it is. */
const shown = (name, value) => (['Tube', 'Section'].includes(name) ? value : local(value));

/** Puts what is pointed at, `{parts}` or nothing, into a read-out. */
export function showReading(readout, found) {
  $(readout).classList.toggle('empty', !found);
  $(readout).replaceChildren(...(found?.parts ?? []).map(([name, value]) => h('div', {}, h('dt', {}, name), h('dd', {}, shown(name, value)))));
}

/** Says what is pointed at, a moment after the last key: a held key is not read out step by step. */
export function speaker(region) {
  let speaking = 0;
  return (found, more = '') => {
    clearTimeout(speaking);
    if (!found) return;
    const text = found.parts.map(([name, value]) => `${name} ${shown(name, value)}`).join(', ') + more;
    speaking = setTimeout(() => { $(region).textContent = text; }, 180);
  };
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
