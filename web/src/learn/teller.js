// Has tubes of the lesson bench diagnosed in a worker: the last one asked for counts.
import { h } from '../dom.js';
import { verdictOf } from '../engine.js';
import { local } from '../local.js';
import { verdictShape } from '../shapes.js';

let worker = null;
let serial = 0;
const waiting = new Map();

function running() {
  if (!worker) {
    worker = new Worker(new URL('../worker.js', import.meta.url), { type: 'module' });
    worker.addEventListener('message', ({ data: { told, of } }) => {
      waiting.get(of)?.(told);
      waiting.delete(of);
    });
    worker.addEventListener('error', () => {
      // What is asked next gets a new one.
      for (const tell of waiting.values()) tell(null);
      waiting.clear();
      worker.terminate();
      worker = null;
    });
  }
  return worker;
}

function ask(pairs) {
  const id = ++serial;
  return new Promise((resolve) => {
    waiting.set(id, resolve);
    running().postMessage({ id, asked: { what: 'lesson', how: JSON.stringify(pairs) } });
  });
}

/** Tells what is found of a tube in an element; while one is looked at, only the last that came in waits. */
export class Teller {
  #into;
  #busy = false;
  #wanted = null;
  #quiet;

  /** `quiet` tells of findings only, not of what was built in. */
  constructor(into, { quiet = false } = {}) {
    this.#into = into;
    this.#quiet = quiet;
  }

  /** Nothing is told any more. */
  clear() {
    this.#wanted = null;
    this.#into.replaceChildren();
  }

  async tell(pairs) {
    this.#wanted = pairs;
    this.#into.classList.add('stale');
    if (this.#busy) return;
    this.#busy = true;
    while (this.#wanted) {
      const now = this.#wanted;
      const told = local(JSON.parse(await ask(now) ?? 'null'));
      if (this.#wanted !== now) continue;
      this.#wanted = null;
      this.#into.classList.remove('stale');
      this.#into.replaceChildren(...(told ? this.#words(told) : [h('p', { class: 'error' }, 'The program stopped on this tube. Change something, or reload the page.')]));
    }
    this.#busy = false;
  }

  #words({ sheet, ills, points }) {
    const { word } = verdictOf(sheet.verdict);
    const check = points.length > 0 && points.every(({ passes }) => passes);
    return [
      !this.#quiet && ills.length > 0 && h('p', {}, h('b', {}, 'Built in: '), ills.join('; '), '.'),
      h('p', { class: 'verdict' }, verdictShape(sheet.verdict, 18), h('b', {}, word), h('span', {}, sheet.reasons[0] ?? '')),
      h('ul', {}, sheet.findings.map((finding) => h('li', { class: finding.likely ? 'likely' : '' },
        h('b', {}, `${finding.title}, ${finding.percent}`), h('div', {}, finding.evidence),
        finding.value && h('div', { class: 'soft' }, `${finding.value.quantity} ${finding.value.value}${finding.value.interval ? ` (${finding.value.interval})` : ''}`),
        h('div', { class: 'soft' }, finding.confirm)))),
      points.length > 0 && h('details', {}, h('summary', {}, check ? 'A check at one operating point would have passed it' : 'A check at one operating point would have refused it'),
        h('ul', {}, points.map(({ says, passes }) => h('li', {}, `${says}: ${passes ? 'passes' : 'refused'}`)))),
      sheet.blind.length > 0 && h('details', {}, h('summary', {}, 'What this sweep cannot show'),
        h('ul', {}, sheet.blind.map(({ title, why, measure }) => h('li', {}, h('b', {}, title), ` ${why}. `, h('span', { class: 'soft' }, measure))))),
    ].filter(Boolean);
  }
}
