// The program, in the document: for drawing and for wording only. Reading and
// diagnosing happen in a worker with a program of its own.
import init, * as program from '../sweepbook_page.js';

await init({ module_or_path: new URL('../sweepbook_page_bg.wasm', import.meta.url) });

export const { batch, Book, LessonBench, LotScreen, Screen, asked, bench, lesson_choices, lesson_course, lesson_exercise, lesson_marked, sums_answer, sums_forms, look, quantity, refuse, sum_of: sumOf, try_reading: tryReading, unopened, failed, report } = program;

/** The columns of figures of the lot's table, and the size of the small pictures in it. */
export const { columns: COLUMNS, thumb: THUMB } = JSON.parse(program.table());

/** The levels of quality that a batch can be judged by, percent of faulty tubes. */
export const QUALITY_LEVELS = JSON.parse(program.quality_levels());

/** The verdicts with their words, worst first. */
export const VERDICTS = JSON.parse(program.verdicts());

const byName = new Map(VERDICTS.map((verdict) => [verdict.name, verdict]));

/** The words of one verdict. */
export const verdictOf = (name) => byName.get(name);
