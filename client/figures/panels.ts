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
