/** Panels of one drawing: beside each other where they have room, else under one another. */
export interface Panels {
  /** pixels of one, and of the whole drawing's height */
  readonly width: number;
  readonly height: number;
  readonly at: (panel: number) => { readonly x: number; readonly y: number };
  /** whether a panel stands at the left, where the numbers of a common scale are written */
  readonly isFirst: (panel: number) => boolean;
}

/**
 * @param width         of the drawing, pixels
 * @param look.left     for the numbers of a scale, `look.between` from one panel to the one beside it
 * @param look.top      above, `look.height` of, and `look.foot` below each panel
 * @param look.beside   least width of a drawing whose panels stand beside each other; default 700
 */
export function panelsIn(
  count: number,
  width: number,
  look: { left: number; between: number; top: number; height: number; foot: number; beside?: number },
): Panels {
  const columns = width >= (look.beside ?? 700) ? count : 1;
  const own = (width - look.left - edge - (columns - 1) * look.between) / columns;
  const row = look.top + look.height + look.foot;
  return {
    width: own,
    height: Math.ceil(count / columns) * row,
    at: (panel) => ({
      x: look.left + (panel % columns) * (own + look.between),
      y: Math.floor(panel / columns) * row + look.top,
    }),
    isFirst: (panel) => panel % columns === 0,
  };
}

/** half of the last tick's number */
const edge = 14;

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
