// What is set on the lesson bench, as names with values: in forms, and in the address after the `#`.

/** The value of a name, the first one. */
export const valueOf = (pairs, name) => pairs.find(([key]) => key === name)?.[1];

/** The same pairs with one name given this value. */
export function withValue(pairs, name, value) {
  return [...pairs.filter(([key]) => key !== name), [name, String(value)]];
}

/** The faults in pairs, `{fault, section, severity}` each. */
export const illsOf = (pairs) => pairs.filter(([key]) => key === 'fault').map(([, text]) => {
  const [fault, section, severity] = text.split(',');
  return { fault, section: Number(section), severity: Number(severity) };
});

/** The same pairs with these faults. */
export const withIlls = (pairs, ills) => [
  ...pairs.filter(([key]) => key !== 'fault'),
  ...ills.map(({ fault, section, severity }) => ['fault', `${fault},${section},${severity}`]),
];

/** After a `#` in an address. */
export const fragment = (view, pairs) => `#${view}?${new URLSearchParams(pairs)}`;

/** The view and the pairs that an address names. */
export function named(hash) {
  const [view, rest = ''] = hash.replace(/^#/, '').split('?');
  return { view, pairs: [...new URLSearchParams(rest)] };
}
