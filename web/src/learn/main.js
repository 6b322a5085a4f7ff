// The page of lessons: which view an address names.
import { $ } from '../dom.js';
import { BenchView } from './bench.js';
import { CourseView } from './course.js';
import { ExerciseView } from './exercise.js';
import { named } from './pairs.js';
import { CHOICES, COURSE } from './program.js';
import { SumsView } from './sums.js';

const views = {
  course: new CourseView(COURSE),
  bench: new BenchView(CHOICES),
  exercise: new ExerciseView(CHOICES),
  sums: new SumsView(),
};

function open(focus) {
  const { view: wanted, pairs } = named(location.hash);
  // A link within the page, such as to its main part, leaves the view as it is.
  const view = wanted === '' ? 'course' : wanted;
  if (!views[view]) return;
  for (const name of Object.keys(views)) $(`${name}-view`).hidden = name !== view;
  for (const link of document.querySelectorAll('.masthead nav a')) {
    if (link.hash === `#${view}`) link.setAttribute('aria-current', 'page');
    else link.removeAttribute('aria-current');
  }
  views[view].open(pairs);
  if (focus) $(`${view}-title`).focus();
}

addEventListener('hashchange', () => open(true));
open(false);
if (Object.keys(views).every((name) => $(`${name}-view`).hidden)) {
  history.replaceState(null, '', '#course');
  open(false);
}
await views.exercise.ready;
document.body.classList.add('ready');
