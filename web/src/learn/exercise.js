// Exercises: what is wrong, where, and what to measure next; the bench then does it.
import { $, announce, count, h } from '../dom.js';
import { exercise as exerciseOf, marked as markedOf } from './program.js';
import { faultOptions } from './faults.js';
import { BenchFigure } from './figure.js';
import { valueOf } from './pairs.js';
import { Results } from './results.js';
import { printSet } from './set.js';
import { Teller } from './teller.js';

export class ExerciseView {
  #choices;
  #now = null;
  #kept = new Results(() => this.#results());
  #figure = new BenchFigure('exercise');
  #teller = new Teller($('exercise-told'), { quiet: true });

  /** Once it is known where results are kept. */
  get ready() { return this.#kept.ready; }

  constructor(choices) {
    this.#choices = choices;
    const { faults, next, levels } = choices;
    $('exercise-fault').replaceChildren(h('option', { value: '' }, 'Nothing: it is sound'), ...faultOptions(faults));
    $('exercise-next').replaceChildren(...next.map(({ name, says }) => h('option', { value: name }, says)));
    $('set-level').replaceChildren(...Array.from({ length: levels }, (_, i) => h('option', { value: i }, i + 1)));
    $('exercise-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#answer();
    });
    $('exercise-another').addEventListener('click', () => this.#another());
    $('exercise-measure').addEventListener('click', () => this.#measure());
    $('exercise-decades').addEventListener('change', () => this.#show());
    $('set-print').addEventListener('click', () => printSet(this.#choices, { count: Number($('set-count').value), seed: Number($('set-seed').value), level: Number($('set-level').value) }));
    $('results-forget').addEventListener('click', () => {
      this.#kept.forget();
      announce('The results in this browser are forgotten');
    });
  }

  /** Opens the exercise that an address names, else the next. */
  async open(pairs) {
    await this.#kept.ready;
    const seed = Number(valueOf(pairs, 'number') ?? Number.NaN);
    const level = Number(valueOf(pairs, 'level') ?? Number.NaN);
    if (!Number.isInteger(seed) || seed < 1 || seed > 999_999) {
      this.#another();
      return;
    }
    this.#begin(seed, Number.isInteger(level) ? level - 1 : 0);
  }

  #another() {
    const kept = this.#kept.all;
    const last = kept.at(-1);
    const seed = Math.max(0, ...kept.map((one) => one.seed), this.#now?.seed ?? 0) + 1;
    this.#begin(seed > 999_999 ? 1 : seed, last?.then ?? 0);
    $('exercise-title').focus();
  }

  #begin(seed, level) {
    const { setting, level: held, after, sections } = exerciseOf(seed, Math.max(0, level));
    this.#now = { seed, level: held, setting, after: new Map(after), shown: setting, answered: null };
    $('exercise-title').textContent = `Exercise ${seed}, level ${held + 1}`;
    $('exercise-bench').textContent = bench(setting);
    $('exercise-form').reset();
    $('exercise-section').lastElementChild.disabled = sections < 2;
    $('exercise-go').disabled = false;
    $('exercise-marked').replaceChildren();
    $('exercise-measure').hidden = true;
    this.#teller.clear();
    history.replaceState(null, '', `#exercise?number=${seed}&level=${held + 1}`);
    this.#show();
    this.#results();
  }

  #show() {
    const { shown } = this.#now;
    this.#figure.show(shown, { plain: true, decades: $('exercise-decades').checked, grid: valueOf(shown, 'ig') === 'yes' });
  }

  #answer() {
    const { seed, level } = this.#now;
    const section = $('exercise-section').value;
    const answer = { fault: $('exercise-fault').value || null, section: section ? Number(section) : null, next: $('exercise-next').value };
    const marked = markedOf(seed, level, answer);
    if (!marked) return;
    const first = !this.#now.answered;
    this.#now.answered = answer;
    $('exercise-go').disabled = true;
    // Only the first answer counts.
    if (first) this.#kept.add({ seed, level, score: marked.score, of: this.#choices.most, then: marked.level });
    const [fault, place, next] = marked.right;
    const tick = (good, text) => h('li', { class: good ? 'good' : 'bad' }, `${good ? 'Right' : 'No'}: ${text}`);
    const where = marked.section ? `section ${marked.section}` : 'no single section';
    $('exercise-marked').replaceChildren(
      h('p', { class: 'score' }, `${marked.score} of ${this.#choices.most}`),
      h('ul', {}, tick(fault, marked.title.toLowerCase()), tick(place, where), tick(next, `what would settle it: ${marked.settles.join('; ').toLowerCase()}`)),
      ...marked.because.map((text) => h('p', {}, text)));
    $('exercise-measure').hidden = answer.next === 'nothing';
    $('exercise-measure').textContent = `Measure: ${this.#choices.next.find(({ name }) => name === answer.next).says.toLowerCase()}`;
    $('exercise-marked').focus();
    announce(`${marked.score} of ${this.#choices.most}: ${marked.title}`);
    this.#teller.tell(this.#now.setting);
    this.#results();
  }

  #measure() {
    const after = this.#now.after.get(this.#now.answered.next);
    this.#now.shown = after;
    $('exercise-bench').textContent = bench(after);
    this.#show();
    this.#teller.tell(after);
    announce('Measured: the curves are those of the new sweep');
  }

  #results() {
    const kept = this.#kept.all;
    const last = kept.slice(-10);
    const share = last.reduce((sum, { score, of }) => sum + score / of, 0) / Math.max(1, last.length);
    $('exercise-results').textContent = kept.length
      ? `${count(kept.length, 'exercise')} so far; of the last ${last.length} you have ${Math.round(100 * share)} % of the points. ${this.#kept.where}`
      : `The level follows how you do. ${this.#kept.where}`;
  }
}

/** What the bench is, in words. */
function bench(setting) {
  const of = (name) => valueOf(setting, name);
  const rs = Number(of('rs'));
  return [
    of('type'), rs ? `${rs / 1000} k\u03a9 in the grid lead` : 'grid driven directly', `meter in the ${of('meter')} lead`,
    of('ig') === 'yes' ? 'grid current measured' : 'no grid current', of('hk') === 'yes' && 'heater–cathode current measured',
    Number(of('heater')) !== 1 && `heater at ${Math.round(100 * Number(of('heater')))} %`,
  ].filter(Boolean).join(', ');
}
