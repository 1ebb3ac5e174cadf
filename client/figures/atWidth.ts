/**
 * Keeps what is drawn in `place` as wide as the place is, so that its type keeps its size: drawn at once for the width that
 * is likely, and again whenever the place has got another.
 *
 * @param draw    puts the drawing for a width, whole pixels, into the place
 * @param likely  pixels; what the place will be once it stands in the page
 */
export function atWidth(place: HTMLElement, draw: (width: number) => void, likely: number): void {
  let drawn = Math.round(likely);
  draw(drawn);
  new ResizeObserver(([entry]) => {
    const width = Math.round(entry?.contentRect.width ?? 0);
    // a place in a folded part has no width
    if (width < narrowest || width === drawn) return;
    drawn = width;
    draw(width);
  }).observe(place);
}

const narrowest = 120;

/** What a drawing over the whole page has, before it stands there; `parts` stand beside each other. */
export function likelyWidth(parts = 1): number {
  const page = document.querySelector("main")?.clientWidth || 1200;
  return page < 992 ? page : page / parts - (parts > 1 ? 20 : 0);
}
