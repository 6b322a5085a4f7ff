// Keeping the page for when there is no server, and telling of a new version.
import { $ } from './dom.js';

/** Registers the service worker and shows what it has to say. */
export async function offline() {
  if (!('serviceWorker' in navigator)) return;
  let asked = false;
  let controlled = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener('controllerchange', () => {
    if (asked) location.reload();
    // The first time is this very build taking care of its own page.
    else if (controlled) tell('sweepbook was renewed in another tab.', () => location.reload());
    controlled = true;
  });
  try {
    const registration = await navigator.serviceWorker.register('sw.js');
    const ready = (worker) => tell('A new version of sweepbook is ready.', () => {
      asked = true;
      worker.postMessage('take over');
    });
    if (registration.waiting && controlled) ready(registration.waiting);
    registration.addEventListener('updatefound', () => {
      const fresh = registration.installing;
      fresh?.addEventListener('statechange', () => {
        if (fresh.state === 'installed' && navigator.serviceWorker.controller) ready(fresh);
      });
    });
    await navigator.serviceWorker.ready;
    $('offline').textContent = 'Kept on this machine: works without a connection.';
  } catch {
    $('offline').textContent = 'Not kept: needs its server to load again.';
  }
}

function tell(text, ontake) {
  // A notebook opens again by itself.
  $('news-text').textContent = $('book').hidden ? `${text} Sweeps that are open have to be opened again after the reload.` : text;
  $('news-take').onclick = ontake;
  $('news').hidden = false;
}
