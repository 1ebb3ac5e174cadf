import { htmlText } from "../text/html.ts";

/** One line of a figure: a value with its interval, or the single runs that make it. */
export interface FigureRow {
  readonly name: string;
  /** a heading over the rows below it: nothing is drawn beside it */
  readonly heading?: boolean;
  readonly value?: number | null;
  readonly interval?: readonly [number, number] | null;
  /** single runs */
  readonly runs?: readonly number[];
  /** what is expected, as a tick */
  readonly expected?: number | null;
  /** of which configuration: told apart by form, not by colour alone */
  readonly mark?: "square" | "circle" | "diamond";
}

/** Millimetres of a column, and of a page, of a journal. */
export const figureWidths = [88, 181] as const;

const rowHeight = 4.6;
const typeSize = 2.6;

/**
 * Values with their intervals about a zero that is marked, one line each, as SVG: generic fonts, black and greys that paper keeps, no
 * style sheet, so that it can be taken into any page. Lengths in millimetres.
 *
 * @param figure.axis    what the axis shows, with its unit; values are in it
 * @param figure.margin  half width of the band about zero within which nothing matters; null without
 */
export function intervalFigure(figure: {
  readonly title: string;
  readonly axis: string;
  readonly rows: readonly FigureRow[];
  readonly margin: number | null;
  readonly width: (typeof figureWidths)[number];
}): string {
  const { title, axis, rows, margin, width } = figure;
  const names = Math.min(0.45 * width, 2 + 0.52 * typeSize * Math.max(8, ...rows.map(({ name }) => name.length)));
  const letters = Math.floor((names - 1) / (0.52 * typeSize));
  const [low, high] = domainOf(rows, margin);
  const x = (value: number): number => names + 2 + ((value - low) / (high - low)) * (width - names - 5);
  const bottom = 2 + rows.length * rowHeight;
  const n = (value: number): string => String(Number(value.toFixed(3)));
  const text = (at: readonly [number, number], words: string, anchor: string, bold = false): string =>
    `<text x="${n(at[0])}" y="${n(at[1])}" text-anchor="${anchor}"${bold ? ' font-weight="bold"' : ""}>${htmlText(words)}</text>`;
  const line = (from: readonly [number, number], to: readonly [number, number], ink: string, weight: number): string =>
    `<line x1="${n(from[0])}" y1="${n(from[1])}" x2="${n(to[0])}" y2="${n(to[1])}" stroke="${ink}" stroke-width="${weight}"/>`;
  const band =
    margin === null
      ? ""
      : `<rect x="${n(x(-margin))}" y="1" width="${n(x(margin) - x(-margin))}" height="${n(bottom - 1)}" fill="#e6e6e6"/>`;
  const drawn = rows.map((row, k) => {
    const y = 2 + (k + 0.5) * rowHeight;
    const name = row.name.length > letters ? `${row.name.slice(0, Math.max(1, letters - 1))}…` : row.name;
    const parts = [text([names, y + 0.9], name, "end", row.heading)];
    for (const run of row.runs ?? [])
      parts.push(`<circle cx="${n(x(run))}" cy="${n(y)}" r="0.6" fill="none" stroke="#555" stroke-width="0.15"/>`);
    if (row.interval) {
      const [from, to] = row.interval;
      parts.push(line([x(from), y], [x(to), y], "#111", 0.35));
      for (const end of [from, to]) parts.push(line([x(end), y - 0.8], [x(end), y + 0.8], "#111", 0.35));
    }
    if (row.expected != null) parts.push(line([x(row.expected), y - 1.7], [x(row.expected), y + 1.7], "#777", 0.5));
    if (row.value != null) parts.push(markAt(row.mark ?? "square", x(row.value), y));
    return parts.join("");
  });
  const ticks = ticksOf(low, high, width < 100 ? 4 : 7).map(
    (tick) =>
      line([x(tick), bottom], [x(tick), bottom + 1], "#111", 0.2) +
      text([x(tick), bottom + 3.6], String(Number(tick.toPrecision(6))).replace("-", "−"), "middle"),
  );
  const height = bottom + 8.5;
  return `<svg xmlns="http://www.w3.org/2000/svg" role="img" width="${width}mm" height="${n(height)}mm" viewBox="0 0 ${width} ${n(height)}" font-family="Helvetica, Arial, sans-serif" font-size="${typeSize}" fill="#111"><title>${htmlText(title)}</title><rect width="${width}" height="${n(height)}" fill="#fff"/>${band}${line([x(0), 1], [x(0), bottom], "#111", 0.2)}${line([names + 2, bottom], [width - 3, bottom], "#111", 0.2)}
${[...drawn, ...ticks].join("\n")}
${text([(names + 2 + width - 3) / 2, bottom + 7.2], axis, "middle")}</svg>`;
}

function markAt(mark: NonNullable<FigureRow["mark"]>, x: number, y: number): string {
  const n = (value: number): string => String(Number(value.toFixed(3)));
  switch (mark) {
    case "square":
      return `<rect x="${n(x - 0.8)}" y="${n(y - 0.8)}" width="1.6" height="1.6"/>`;
    case "circle":
      return `<circle cx="${n(x)}" cy="${n(y)}" r="0.95" fill="#fff" stroke="#111" stroke-width="0.35"/>`;
    case "diamond":
      return `<path d="M${n(x)},${n(y - 1.2)}l1.2,1.2l-1.2,1.2l-1.2,-1.2z" fill="#888"/>`;
  }
}

/** All that is drawn, zero and margin among it, with a twentieth of room at either side. */
function domainOf(rows: readonly FigureRow[], margin: number | null): [number, number] {
  const all = rows.flatMap(({ value, interval, runs, expected }) =>
    [value, expected, ...(interval ?? []), ...(runs ?? [])].filter((one) => one != null),
  );
  const low = Math.min(0, -(margin ?? 0), ...all);
  const high = Math.max(0, margin ?? 0, ...all);
  const room = 0.05 * (high - low) || 1;
  return [low - room, high + room];
}

/** Round values, about so many. */
function ticksOf(low: number, high: number, count: number): number[] {
  const rough = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5, 10].find((each) => each * power >= rough) ?? 10);
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, k) => (first + k) * step);
}
