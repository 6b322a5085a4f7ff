// The course: a page, an idea, a figure that can be moved, a question.
import { $, announce, h } from '../dom.js';
import { BenchFigure } from './figure.js';
import { fragment, illsOf, valueOf, withIlls } from './pairs.js';
import { Teller } from './teller.js';

const paragraphs = (texts) => texts.map((text) => h('p', {}, text));

export class CourseView {
  #pages;
  #page = null;
  #figure = new BenchFigure('course');
  #riddle = new BenchFigure('riddle');
  #teller = new Teller($('course-told'));

  constructor(pages) {
    this.#pages = pages;
    $('course-list').replaceChildren(...pages.map(({ name, title }) => h('li', {}, h('a', { href: `#course?page=${name}`, 'data-page': name }, title))));
    for (const id of ['course-size', 'course-other', 'course-decades']) $(id).addEventListener('input', () => this.#show());
    $('riddle-form').addEventListener('submit', (event) => {
      event.preventDefault();
      this.#answer();
    });
  }

  /** Opens the page that an address names, else the first. */
  open(pairs) {
    const wanted = valueOf(pairs, 'page');
    const place = Math.max(0, this.#pages.findIndex(({ name }) => name === wanted));
    const page = this.#pages[place];
    this.#page = page;
    for (const link of $('course-list').querySelectorAll('a')) {
      if (link.dataset.page === page.name) link.setAttribute('aria-current', 'page');
      else link.removeAttribute('aria-current');
    }
    $('course-title').textContent = page.title;
    $('course-idea').replaceChildren(...paragraphs(page.idea));
    const [ill] = illsOf(page.setting);
    $('course-size-label').hidden = !ill;
    if (ill) $('course-size').value = ill.severity;
    $('course-other-label').hidden = !page.look_alike;
    $('course-other').checked = false;
    $('course-other-name').textContent = page.look_alike ? `its look-alike instead: ${page.look_alike[0].toLowerCase()}` : '';
    $('riddle-choices').replaceChildren(...page.choices.map((choice, i) => h('label', {}, h('input', { type: 'radio', name: 'riddle', value: i }), choice)));
    $('riddle-answer').replaceChildren();
    const link = (id, to) => {
      $(id).hidden = !to;
      if (to) $(id).href = `#course?page=${to.name}`;
    };
    link('course-before', this.#pages[place - 1]);
    link('course-after', this.#pages[place + 1]);
    this.#show();
    this.#riddle.show(page.riddle, { plain: true, grid: valueOf(page.riddle, 'ig') === 'yes' });
  }

  #show() {
    const page = this.#page;
    const other = $('course-other').checked && page.look_alike;
    const base = other ? page.look_alike[1] : page.setting;
    const pairs = withIlls(base, illsOf(base).map((ill) => ({ ...ill, severity: Number($('course-size').value) })));
    const grid = valueOf(pairs, 'ig') === 'yes';
    this.#figure.show(pairs, { decades: $('course-decades').checked, grid });
    this.#teller.tell(pairs);
    $('course-on-bench').href = fragment('bench', pairs);
  }

  #answer() {
    const chosen = document.querySelector('[name=riddle]:checked');
    if (!chosen) {
      $('riddle-answer').replaceChildren(h('p', { class: 'error' }, 'Choose one of them first.'));
      document.querySelector('[name=riddle]')?.focus();
      return;
    }
    const { choices, right, because } = this.#page;
    const good = Number(chosen.value) === right;
    const says = good ? `Right: ${choices[right].toLowerCase()}.` : `No: it is ${choices[right].toLowerCase()}.`;
    $('riddle-answer').replaceChildren(h('p', { class: good ? 'good' : 'bad' }, says), ...paragraphs(because));
    announce(says);
  }
}
