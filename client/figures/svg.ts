type Child = Node | null | undefined | false;

const namespace = "http://www.w3.org/2000/svg";

/**
 * An element of a drawing. Colours and pens come from classes (style/figures.css), so that a drawing follows the theme.
 *
 * @param attributes  `text` becomes the text content; null leaves an attribute out
 * @example svg("circle", { class: "run baseline", cx: 10, cy: 20, r: 4 })
 */
export function svg<Tag extends keyof SVGElementTagNameMap>(
  tag: Tag,
  attributes: Readonly<Record<string, string | number | null>> = {},
  children: readonly Child[] = [],
): SVGElementTagNameMap[Tag] {
  const made = document.createElementNS(namespace, tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null) continue;
    if (name === "text") made.textContent = String(value);
    else made.setAttribute(name, typeof value === "number" ? coordinate(value) : value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** Hundredths of a pixel are enough, and keep a drawing small. */
export function coordinate(value: number): string {
  return String(Math.round(value * 100) / 100);
}

/**
 * The root of a drawing of its own size; on a page it fills its frame. It is one picture with a name and a description to
 * those who cannot see it; `links`: it holds links, which a picture would hide, and is a group.
 */
export function drawingRoot(
  size: { readonly width: number; readonly height: number },
  words: { readonly title: string; readonly description: string; readonly links?: boolean },
  children: readonly Child[] = [],
): SVGSVGElement {
  return svg(
    "svg",
    {
      viewBox: `0 0 ${size.width} ${size.height}`,
      width: size.width,
      height: size.height,
      role: words.links ? "group" : "img",
      class: "drawing",
      "aria-label": `${words.title}. ${words.description}`,
    },
    [svg("title", { text: words.title }), svg("desc", { text: words.description }), ...children],
  );
}

/** A difference with its intervals on one line: ends of the 95 % interval, the 90 % one thick, the estimate as a box. */
export function intervalMark(
  y: number,
  scale: (metres: number) => number,
  {
    difference,
    ci95,
    ci90 = null,
  }: { difference: number; ci95: readonly [number, number] | null; ci90?: readonly [number, number] | null },
  size = 5,
): SVGElement[] {
  const at = scale(difference);
  const ends = ci95?.map(scale) ?? null;
  const inner = ci90?.map(scale) ?? null;
  return [
    ...(ends === null
      ? []
      : [
          svg("path", {
            class: "interval",
            d: `M${ends[0]},${y - size}v${2 * size}M${ends[0]},${y}H${ends[1]}M${ends[1]},${y - size}v${2 * size}`,
          }),
        ]),
    ...(inner === null ? [] : [svg("path", { class: "interval inner", d: `M${inner[0]},${y}H${inner[1]}` })]),
    svg("rect", { class: "estimate", x: at - 3, y: y - size - 2, width: 6, height: 2 * size + 4 }),
  ];
}
