// A small figure of a file under one reading.
import { dark, forced, look } from './canvas.js';
import { Screen } from './engine.js';

const HEIGHT = 190;
const LEAST_WIDTH = 160;

/** Draws it on a canvas for as long as the canvas is on the page. */
export function preview(canvas, tube) {
  let shown = 0;
  const draw = () => {
    const width = Math.floor(canvas.clientWidth);
    if (width < LEAST_WIDTH) return;
    shown = width;
    canvas.width = Math.round(width * devicePixelRatio);
    canvas.height = Math.round(HEIGHT * devicePixelRatio);
    const options = JSON.stringify({ width, height: HEIGHT });
    try {
      const screen = new Screen(tube, options, look());
      screen.draw(canvas);
      screen.free();
    } catch (error) {
      // The table beside it says the same.
      console.warn('preview:', error);
      canvas.hidden = true;
    }
  };
  const observer = new ResizeObserver(() => {
    if (!canvas.isConnected) stop();
    else if (Math.floor(canvas.clientWidth) !== shown) draw();
  });
  const stop = () => {
    observer.disconnect();
    for (const query of [dark, forced]) query.removeEventListener('change', draw);
  };
  observer.observe(canvas);
  for (const query of [dark, forced]) query.addEventListener('change', draw);
}
