// What the program says of lessons, taken apart.
import { lesson_choices, lesson_course, lesson_exercise, lesson_marked } from '../engine.js';
import { local } from '../local.js';

/** Types, faults, what may be measured next, levels. */
export const CHOICES = JSON.parse(lesson_choices());

/** The pages of the course. */
export const COURSE = local(JSON.parse(lesson_course()));

/** An exercise by number and level (from 0). */
export const exercise = (seed, level) => JSON.parse(lesson_exercise(seed, level));

/** An answer marked; nothing where it is none. */
export const marked = (seed, level, answer) => local(JSON.parse(lesson_marked(seed, level, JSON.stringify(answer))));
