// The only ways in which this page makes elements. Text is always text: nothing
// here ever parses markup.

/** An element; a property `onclick` is a listener, others are attributes. */
export function h(tag, properties = {}, ...children) {
  return fill(document.createElement(tag), properties, children);
}

/** The same for SVG. */
export function s(tag, properties = {}, ...children) {
  return fill(document.createElementNS('http://www.w3.org/2000/svg', tag), properties, children);
}

function fill(element, properties, children) {
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? '' : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** The element with this id. */
export const $ = (id) => document.getElementById(id);

/** Says something to who listens, without moving the focus. */
export function announce(text) {
  const region = $('spoken');
  // The same text twice would not be said twice.
  region.textContent = '';
  setTimeout(() => { region.textContent = text; }, 50);
}

/** Where what is asked of tubes cannot be told, since their program is gone. */
export const NOT_AT_HAND = 'Some of these tubes are no longer at hand: the program was started anew since they were read. Close the lot and open the files again.';

/** `1 tube`, `2 tubes`. */
export const count = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** A clause as a sentence. */
export const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1).replace(/([^.!?])$/, '$1.');

/** Where in a file. */
export const place = ({ line, column }) => [line && `line ${line}`, column && `column ${column}`].filter(Boolean).join(', ');

/** Hands a text to the user as a file. */
export function save(name, type, text) {
  const url = URL.createObjectURL(new Blob([text], { type }));
  const link = h('a', { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
