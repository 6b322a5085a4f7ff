// Starts the page, and says so where it cannot start.
import { $ } from './dom.js';

// With a lot on its way, the empty page would only flash up.
$('empty').hidden = new URLSearchParams(location.search).get('open') === 'samples';

try {
  await import('./main.js');
} catch (error) {
  $('empty').hidden = false;
  $('broken').hidden = false;
  $('broken').textContent = `sweepbook could not start (${error.message}). Reload the page. If that does not help, try a newer browser: it needs WebAssembly and module workers.`;
}
