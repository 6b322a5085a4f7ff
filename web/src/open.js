// The ways a sweep comes in: dropped, picked, or pasted.
import { $ } from './dom.js';

/** Wires them up; `onfiles([{name, file}], sample)` for whatever comes. */
export function ways(onfiles) {
  const own = (files) => {
    const items = [...files].map((file) => ({ name: file.name, file }));
    if (items.length) onfiles(items, false);
  };
  picked(own);
  dropped(own);
  pasted(own);
}

function picked(own) {
  const input = $('files');
  for (const button of document.querySelectorAll('[data-do=open]')) {
    button.addEventListener('click', () => input.click());
  }
  input.addEventListener('change', () => {
    own(input.files);
    // So that the same file can be picked again after it was mended.
    input.value = '';
  });
}

function dropped(own) {
  const veil = $('veil');
  const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes('Files');
  let depth = 0;
  const lift = (by) => {
    depth = Math.max(0, depth + by);
    veil.hidden = depth === 0;
  };
  addEventListener('dragenter', (event) => { if (hasFiles(event)) lift(1); });
  addEventListener('dragleave', (event) => { if (hasFiles(event)) lift(-1); });
  addEventListener('dragover', (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    event.dataTransfer.dropEffect = 'copy';
  });
  addEventListener('drop', (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    depth = 0;
    veil.hidden = true;
    own(event.dataTransfer.files);
  });
}

function pasted(own) {
  const dialog = $('paste');
  const [name, text] = [$('paste-name'), $('paste-text')];
  let serial = 0;
  const open = (content) => {
    if (content !== undefined) text.value = content;
    name.value ||= `pasted ${serial + 1}`;
    $('paste-empty').hidden = true;
    dialog.showModal();
    text.focus();
  };
  for (const button of document.querySelectorAll('[data-do=paste]')) {
    button.addEventListener('click', () => open());
  }
  $('paste-cancel').addEventListener('click', () => dialog.close());
  $('paste-form').addEventListener('submit', (event) => {
    event.preventDefault();
    if (!text.value.trim()) {
      $('paste-empty').hidden = false;
      text.focus();
      return;
    }
    serial += 1;
    own([new File([text.value], name.value.trim() || `pasted ${serial}`, { type: 'text/plain' })]);
    // Kept until it was read: closing is not losing.
    text.value = '';
    name.value = '';
    dialog.close();
  });
  addEventListener('paste', (event) => {
    if (event.target.closest?.('input, textarea') || dialog.open) return;
    if (event.clipboardData.files.length) own(event.clipboardData.files);
    else if (event.clipboardData.getData('text/plain').trim()) open(event.clipboardData.getData('text/plain'));
  });
}
