// The single file needs no keeping: it is on this machine already, and a page from a file may
// have no service worker.
import { $ } from '../src/dom.js';

/** Says so. */
export function offline() {
  // The lessons are a page of their own, which is not here.
  $('learn-link')?.remove();
  $('offline').textContent = 'All of it is in this one file: works without a connection.';
}
