// What the tests of the printed report share.

/** Pages of a PDF that Chromium wrote: its page objects stand in the clear. */
export const pages = (pdf) => pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g).length;

/** A4 less the report's margins, in CSS pixels: what a page of paper holds. */
const PAPER = { width: 695, height: 1047 };

/** What of a report does not fit on its pages: beyond an edge, cut by its own box, or an article longer than a page. */
export async function beyond(report) {
  await report.setViewportSize(PAPER);
  await report.emulateMedia({ media: 'print' });
  const found = await report.evaluate(({ width, height }) => {
    const name = (e) => `${e.tagName.toLowerCase()}: ${e.textContent.trim().slice(0, 50)}`;
    const wrong = [];
    for (const e of document.querySelectorAll('body *')) {
      const box = e.getBoundingClientRect();
      // Within a drawing only its words: what is outside of its frame it cuts itself.
      const words = e.closest('svg') && e.localName === 'text';
      if (e.closest('svg') && e.localName !== 'svg' && !words) continue;
      const frame = words ? e.closest('svg').getBoundingClientRect() : { left: 0, right: width };
      if (box.width && (box.right > frame.right + 1 || box.left < frame.left - 1)) wrong.push(`beyond the edge: ${name(e)}`);
      if (e.clientWidth && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX !== 'visible') wrong.push(`cut: ${name(e)}`);
    }
    for (const article of document.querySelectorAll('article')) {
      if (article.getBoundingClientRect().height > height + 1) wrong.push(`longer than a page: ${name(article)}`);
    }
    return wrong;
  }, PAPER);
  await report.emulateMedia({ media: null });
  return found;
}
