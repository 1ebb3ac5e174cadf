type Span = readonly [number, number];

/** What a reader typed into the two fields, or why it is no window. */
export type TypedWindow = { readonly window: Span } | { readonly wrong: string; readonly field: "from" | "to" };

/** hundredths of a second are finer than anyone can drag */
const decimals = 2;

/** A window as its two fields hold it: hundredths of a second. */
export function windowFields([from, to]: Span): { readonly from: string; readonly to: string } {
  return { from: from.toFixed(decimals), to: to.toFixed(decimals) };
}

/** @example windowText([20, 25.5]) // => "20.00 to 25.50 s" */
export function windowText(window: Span): string {
  const { from, to } = windowFields(window);
  return `${from} to ${to} s`;
}

/**
 * Reads the two fields. A window that reaches beyond what was recorded is cut to it.
 *
 * @param extent  what was recorded, seconds
 */
export function readWindow(from: string, to: string, extent: Span): TypedWindow {
  const ends = { from: readSeconds(from), to: readSeconds(to) };
  for (const field of ["from", "to"] as const) {
    if (ends[field] === null)
      return { field, wrong: `found "${field === "from" ? from : to}", expected seconds such as 12.5` };
  }
  const [start, end] = [ends.from!, ends.to!];
  if (!(start < end))
    return { field: "to", wrong: `found ${from.trim()} to ${to.trim()} s, expected an end after the start` };
  const window = clampWindow([start, end], extent);
  if (window === null) {
    const { from: first, to: last } = windowFields(extent);
    return { field: "from", wrong: `found a window outside the recording, expected one within ${first} to ${last} s` };
  }
  return { window };
}

function readSeconds(text: string): number | null {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** The part of a window that lies within what was recorded; null where none does. */
export function clampWindow([from, to]: Span, extent: Span): Span | null {
  const window = [Math.max(from, extent[0]), Math.min(to, extent[1])] as const;
  return window[0] < window[1] ? window : null;
}

/** Two instants, dragged in either direction, as a window of whole hundredths; null for a mere click. */
export function draggedWindow(a: number, b: number, least: number, extent: Span): Span | null {
  if (Math.abs(b - a) < least) return null;
  const round = (t: number): number => Number(t.toFixed(decimals));
  const [from, to] = [round(Math.min(a, b)), round(Math.max(a, b))];
  return from < to ? clampWindow([from, to], extent) : null;
}
