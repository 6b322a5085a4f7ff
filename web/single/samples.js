// The sample lot, within the single file.
import SAMPLES from '../samples.js';

/** Its names. */
export const sampleLot = async () => SAMPLES.map(([name]) => name);

/** Its files. */
export const sampleFiles = async () => SAMPLES.map(([name, bytes]) => ({ name, file: new File([bytes], name) }));
