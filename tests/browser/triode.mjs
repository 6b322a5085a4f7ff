// A made-up tube for the tests: sound, with a perveance of its own.

/** A sweep by the three-halves law with a soft foot; `head` are more lines above it. */
export function sweep(name, factor, head = '') {
  const rows = [];
  for (const va of [150, 200, 250]) {
    for (let vg = -16; vg <= 0.01; vg += 0.5) {
      const e = va / 20 + vg + 0.3;
      const soft = 0.35 * Math.log1p(Math.exp(Math.min(e / 0.35, 500)));
      rows.push(`${va},${vg.toFixed(2)},${(factor * 1.3 * soft ** 1.4).toFixed(4)}`);
    }
  }
  return { name: `${name}.csv`, text: `# tube: ${name}\n# type: 6SN7GTB\n${head}Va [V],Vg [V],Ia [mA]\n${rows.join('\n')}\n` };
}
