// Twenty crashes in the middle of writing: what the page called kept is there, and what is there
// is what was done up to some moment, in order.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { drop, open, setUp, settled } from './harness.mjs';
import { CLEAR, begin, crashed, kept } from './notebook.mjs';

const at = setUp();
const SEED = 20261126;
const CRASHES = 20;
/** What is done between two crashes, at most: the crash comes before the end. */
const ACTS = 14;

/** Marsaglia's xorshift generator of 32 bits: the same moments each time. */
function random(seed) {
  let state = seed;
  return (below) => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) % below;
  };
}

const DECISIONS = ['accept', 'restrict', 'retest', 'reject'];

/** Acts of one round, and what the sheet shows after each, from before the first on. */
function planned(next, round, from) {
  const acts = [];
  const states = [from];
  const past = [];
  for (let i = 0; i < ACTS; i++) {
    const now = states.at(-1);
    let [act, then] = [null, null];
    const kind = next(6);
    if (kind === 0 && past.length) {
      act = { undo: true };
      then = past.pop();
    } else if (kind === 1 && now.notes.length) {
      act = { remove: true };
      then = { ...now, notes: now.notes.slice(1) };
    } else if (kind <= 3) {
      const text = `${round}.${i} ${'x'.repeat(1 + next(40))}`;
      act = { note: text };
      then = { ...now, notes: [...now.notes, text] };
    } else {
      const others = DECISIONS.filter((one) => one !== now.decision);
      const [decision, reason] = [others[next(others.length)], `because of ${round}.${i}`];
      act = { decision, reason };
      then = { ...now, decision, reason };
    }
    if (!act.undo) past.push(now);
    // As if its user thought a moment before the next one; some come in the same breath.
    acts.push({ ...act, pause: next(3) ? next(25) : 0 });
    states.push(then);
  }
  return { acts, states };
}

/** What the sheet shows. Runs in the page, where it is called the same. */
const shown = () => ({
  notes: [...document.querySelectorAll('#own-notes li > span:first-child')].map((span) => span.firstChild.textContent),
  // The word, not the form: it is there only once it was written down.
  decision: document.getElementById('own-word').textContent.toLowerCase(),
  reason: document.getElementById('own-reason').value,
});

/** Does the acts one after the other, and tells how many had been done whenever the page says that all is kept. Runs in the page. */
async function work({ acts, states }) {
  const badge = document.getElementById('book-kept');
  let done = 0;
  new MutationObserver(() => { if (badge.dataset.state === 'kept') globalThis.told(done); }).observe(badge, { attributes: true });
  const $ = (id) => document.getElementById(id);
  for (const [i, act] of acts.entries()) {
    if (act.undo) $('book-undo').click();
    else if (act.remove) document.querySelector('#own-notes button').click();
    else if (act.note) {
      $('own-note').value = act.note;
      $('own-note-form').requestSubmit();
    } else {
      document.querySelector(`[name=own-choice][value=${act.decision}]`).checked = true;
      $('own-reason').value = act.reason;
      $('own-decision').requestSubmit();
    }
    const wanted = JSON.stringify(states[i + 1]);
    for (let tries = 0; JSON.stringify(globalThis.shown()) !== wanted; tries++) {
      if (tries > 2000) throw new Error(`act ${i}, ${JSON.stringify(act)}: shown is ${JSON.stringify(globalThis.shown())}, not ${wanted}`);
      await new Promise((resolve) => setTimeout(resolve, 0));
    }
    done = i + 1;
    if (act.pause) await new Promise((resolve) => setTimeout(resolve, act.pause));
  }
}

describe('a crash at twenty moments', () => {
  test(`loses nothing that was kept (seed ${SEED})`, async () => {
    const next = random(SEED);
    const { page, context } = await open(at.browser, at.base, { allow: [/./] });
    let keptActs = 0;
    let hear = () => {};
    await context.exposeFunction('told', (done) => {
      keptActs = done;
      hear();
    });
    await context.addInitScript(`globalThis.shown = ${shown}`);
    let now = page;
    await now.reload();
    await now.waitForSelector('body.ready');
    await drop(now, [{ name: 'a.csv', text: CLEAR('B-17') }]);
    await settled(now, 1);
    await begin(now);
    await now.waitForFunction(() => !document.getElementById('book-undo').disabled);
    await kept(now);
    let state = await now.evaluate(shown);
    const moments = [];
    for (let round = 0; round < CRASHES; round++) {
      const { acts, states } = planned(next, round, state);
      const [after, wait] = [next(ACTS - 2), next(12)];
      keptActs = 0;
      const reached = new Promise((resolve) => { hear = () => { if (keptActs >= after) resolve(); }; });
      let stuck = null;
      const working = now.evaluate(work, { acts, states }).catch((error) => { if (error.message.includes('not {')) stuck = error; });
      if (after > 0) await Promise.race([reached, working]);
      assert.equal(stuck, null);
      await new Promise((resolve) => setTimeout(resolve, wait));
      now = await crashed(now, context, at.base);
      await settled(now, 1);
      await now.waitForSelector('#book-kept[data-state=kept]');
      const found = await now.evaluate(shown);
      const least = keptActs;
      const moment = states.findIndex((one, i) => i >= least && JSON.stringify(one) === JSON.stringify(found));
      assert.ok(moment >= 0, `round ${round}: ${least} acts were called kept; found is\n${JSON.stringify(found)}\nwhich is none of\n${states.slice(least).map((one) => JSON.stringify(one)).join('\n')}`);
      moments.push(moment);
      state = found;
    }
    // The crashes did come in the middle of it.
    assert.ok(new Set(moments).size >= 5, `all crashes came after ${moments} acts`);
    assert.ok(moments.filter((moment) => moment < ACTS).length >= CRASHES / 2, `the crashes came too late: after ${moments} acts`);
    await context.close();
  });
});
