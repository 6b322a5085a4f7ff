// The sample lot, from the page's server. The single file has it within (web/single/).
import { announce } from './dom.js';

/** The sample lot, where this build has one. */
export async function sampleLot() {
  try {
    const names = await (await fetch('samples/index.json')).json();
    return names;
  } catch {
    return [];
  }
}

/** Its files. */
export async function sampleFiles(names) {
  const one = async (name) => {
    const answer = await fetch(`samples/${encodeURIComponent(name)}`);
    if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
    return { name, file: new File([await answer.blob()], name) };
  };
  try {
    return await Promise.all(names.map(one));
  } catch (error) {
    announce(`The sample lot could not be opened: ${error.message}`);
    return [];
  }
}
