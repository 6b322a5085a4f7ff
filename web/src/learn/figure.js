// A figure of the lesson bench: drawn anew with every move of a slider, within the frame.
import { attempting, cleared, dark, forced, look, onDensity, painter } from '../canvas.js';
import { $ } from '../dom.js';
import { LessonBench } from '../engine.js';
import { MARK, local } from '../local.js';

const PRINTED = { width: 700, height: 430 };

/** One canvas with a tube on the bench. */
export class BenchFigure {
  #bench = null;
  #plot;
  #canvas;
  #shown = null;
  #size = { width: 0, height: 0 };
  #attempt = attempting('broken', 'lesson figure');
  #paint = painter(() => this.#draw());

  #told = null;
  #shownTo;

  /** `shown(wrong, pairs)` hears once of what was set whether it could be drawn: `wrong` is nothing, or `{name, what}`. */
  constructor(name, shown = () => {}) {
    this.#shownTo = shown;
    this.#plot = $(`${name}-plot`);
    this.#canvas = $(`${name}-curves`);
    new ResizeObserver(() => this.#fit()).observe(this.#plot);
    for (const query of [dark, forced]) query.addEventListener('change', () => this.#paint('curves'));
    onDensity(() => this.#paint('curves'));
  }

  /** Shows the tube of `pairs` on the next frame; `plain` as it is, else beside itself without its fault. */
  show(pairs, { plain = false, decades = true, grid = false } = {}) {
    this.#shown = { pairs, plain, decades, grid };
    this.#paint('curves');
  }

  #options(size = this.#size, mark = MARK) {
    const { decades, grid } = this.#shown;
    return JSON.stringify({ ...size, current: decades ? 'decades' : 'full', grid_current: grid, decimal_mark: mark });
  }

  #fit() {
    const width = Math.floor(this.#plot.clientWidth);
    if (width === 0 || width === this.#size.width) return;
    this.#size = { width, height: Math.round(Math.max(250, Math.min(0.58 * width, 0.5 * innerHeight, 430))) };
    this.#paint('curves');
  }

  #draw() {
    if (!this.#shown || this.#size.width === 0) return;
    this.#attempt(() => {
      this.#bench ??= new LessonBench(look());
      this.#bench.dress(look());
      const wrong = this.#bench.set(JSON.stringify(this.#shown.pairs), this.#options(), this.#shown.plain);
      if (wrong === 'null') this.#bench.draw(cleared(this.#canvas, this.#size));
      if (this.#told !== this.#shown.pairs) {
        this.#told = this.#shown.pairs;
        this.#shownTo(JSON.parse(wrong), this.#shown.pairs);
      }
    });
    this.#plot.setAttribute('aria-label', local(this.#bench?.describe() ?? ''));
  }

  /** What is shown as a document of the printed size. */
  svg(title, mark = '.') {
    return this.#attempt(() => {
      const bench = new LessonBench(look());
      bench.set(JSON.stringify(this.#shown.pairs), this.#options(PRINTED, mark), this.#shown.plain);
      const text = bench.svg(title);
      bench.free();
      return text;
    });
  }
}
