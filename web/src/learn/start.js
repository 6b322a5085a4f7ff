// Starts the page of lessons, and says so where it cannot start.
import { $ } from '../dom.js';

try {
  await import('./main.js');
} catch (error) {
  $('broken').hidden = false;
  $('broken').textContent = `sweepbook could not start (${error.message}). Reload the page. If that does not help, try a newer browser: it needs WebAssembly and module workers.`;
}
