import { csvFormatRows } from "d3";
import { csvField } from "../../src/foundation/csvField.ts";
import type { Drawing } from "./Figure.ts";

/** Hands a file to the reader. Made as a data or blob address here, it never leaves the machine. */
function downloadBlob(name: string, blob: Blob): void {
  const address = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  // the browser reads the address after the click, not during it
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

export function downloadText(name: string, type: string, text: string): void {
  downloadBlob(name, new Blob([text], { type: `${type};charset=utf-8` }));
}

/** A name that every file system takes. */
export function fileName(text: string): string {
  const plain = text
    .normalize("NFKD")
    .replace(/[^\w.-]+/g, "-")
    .replace(/^[-.]+|[-.]+$/g, "");
  return plain.slice(0, 80) || "figure";
}

/** what may reach a drawing from the style sheets */
const inked = [
  "fill",
  "fill-opacity",
  "stroke",
  "stroke-width",
  "stroke-opacity",
  "stroke-dasharray",
  "stroke-linecap",
  "stroke-linejoin",
  "opacity",
  "font-family",
  "font-size",
  "font-weight",
  "font-style",
  "font-variant-numeric",
  "letter-spacing",
  "text-anchor",
  "dominant-baseline",
  "paint-order",
  "display",
  "visibility",
] as const;

/** pixels of the image per pixel of the drawing */
const sharpness = 2;

/** What stands on the paper beside a drawing. */
export interface Paper {
  readonly title: string;
  readonly caption: string;
  /** as wide as a column of a journal, in millimetres; left out: as it is seen */
  readonly millimetres?: number;
}

/** Saves a drawing as a file that is complete by itself: on white paper, whatever the theme of the page. */
export function saveSvg(drawing: SVGSVGElement, name: string, paper: Paper | null = null): void {
  downloadText(`${name}.svg`, "image/svg+xml", completeSvg(drawing, paper).text);
}

/** Saves a drawing as an image at twice its size. */
export async function savePng(drawing: SVGSVGElement, name: string, paper: Paper | null = null): Promise<void> {
  const { text, width, height } = completeSvg(drawing, paper);
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(width * sharpness);
  canvas.height = Math.round(height * sharpness);
  canvas.getContext("2d")!.drawImage(image, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, "image/png"));
  if (blob !== null) downloadBlob(`${name}.png`, blob);
}

/** what a part does not take from the part around it, and what it is unless it says so */
const own: Readonly<Record<string, string>> = { opacity: "1", display: "inline" };
/** fonts that every machine has one of */
const fonts = "Helvetica, Arial, sans-serif";

/**
 * Gives each part a class by how it looks, one for all that look so.
 *
 * @returns the sheet of the classes, each with what differs from the part around it
 */
function writeStyles(copy: SVGSVGElement): SVGElement {
  const classes = new Map<string, string>();
  const looks = new Map<Element, CSSStyleDeclaration>();
  const lookOf = (part: Element): CSSStyleDeclaration => {
    const known = looks.get(part) ?? getComputedStyle(part);
    looks.set(part, known);
    return known;
  };
  const named: [SVGElement, string][] = [copy, ...copy.querySelectorAll<SVGElement>("*")].map((part) => {
    const style = lookOf(part);
    const around = part === copy ? null : lookOf(part.parentElement!);
    const text = inked
      .filter((property) => {
        const value = style.getPropertyValue(property);
        return property in own ? value !== own[property] : value !== around?.getPropertyValue(property);
      })
      .map((property) => `${property}:${property === "font-family" ? fonts : style.getPropertyValue(property)}`)
      .join(";");
    if (text !== "" && !classes.has(text)) classes.set(text, `c${classes.size}`);
    return [part, classes.get(text) ?? ""];
  });
  for (const [part, name] of named) {
    part.removeAttribute("tabindex");
    if (name === "") part.removeAttribute("class");
    else part.setAttribute("class", name);
  }
  const sheet = document.createElementNS(copy.namespaceURI, "style") as SVGElement;
  sheet.textContent = [...classes].map(([text, name]) => `.${name}{${text}}`).join("\n");
  return sheet;
}

const margin = 12;
/** of both sides together, pixels */
export const paperEdge = 2 * margin;
const lineHeight = 15;

/**
 * A copy of the drawing that holds all it needs: its styles, and on paper its title, how to read it, and whose it is. It is laid out
 * in a corner out of sight, in the light theme, so that its styles can be read off.
 */
function completeSvg(drawing: SVGSVGElement, paper: Paper | null): { text: string; width: number; height: number } {
  const box = drawing.viewBox.baseVal;
  const [width, height] = box.width > 0 ? [box.width, box.height] : [drawing.clientWidth, drawing.clientHeight];
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  const letters = Math.floor(width / 5.9);
  // whose figures these are: campaign, when they were made, by which build; the shell writes it there
  const { imprint = "" } = document.documentElement.dataset;
  const head = paper === null ? [] : wrapped(paper.title, Math.floor(letters * 0.85));
  const foot = paper === null ? [] : [...wrapped(paper.caption, letters), ...wrapped(imprint, letters)];
  const line = (text: string, y: number, strong: boolean): SVGElement => {
    const made = document.createElementNS(copy.namespaceURI, "text") as SVGElement;
    made.setAttribute("x", String(box.x));
    made.setAttribute("y", String(y));
    made.setAttribute("class", strong ? "strong" : "quiet-text");
    made.textContent = text;
    return made;
  };
  const above = head.length === 0 ? 0 : lineHeight * head.length + 6;
  copy.append(
    ...head.map((text, k) => line(text, box.y - above + lineHeight * (k + 1) - 4, true)),
    ...foot.map((text, k) => line(text, box.y + height + lineHeight * (k + 1) + 2, false)),
  );
  const corner = document.createElement("div");
  corner.className = "unseen";
  corner.dataset.theme = "light";
  corner.append(copy);
  // beside the drawing: rules that depend on where it stands go on to hold
  const beside = drawing.isConnected ? drawing.parentElement : null;
  (beside ?? document.body).append(corner);
  const sheet = writeStyles(copy);
  const whole = {
    x: box.x - margin,
    y: box.y - above - margin,
    width: width + 2 * margin,
    height: height + above + (foot.length === 0 ? 0 : lineHeight * foot.length + 6) + 2 * margin,
  };
  const ground = document.createElementNS(copy.namespaceURI, "rect");
  for (const [name, value] of Object.entries(whole)) ground.setAttribute(name, String(value));
  ground.setAttribute("fill", getComputedStyle(corner).getPropertyValue("--paper").trim() || "white");
  corner.remove();
  // once out of the page, whose policy lets no style of its own in
  copy.prepend(sheet, ground);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("viewBox", `${whole.x} ${whole.y} ${whole.width} ${whole.height}`);
  const scale = paper?.millimetres === undefined ? null : paper.millimetres / whole.width;
  copy.setAttribute("width", scale === null ? String(whole.width) : `${paper!.millimetres}mm`);
  copy.setAttribute("height", scale === null ? String(whole.height) : `${(scale * whole.height).toFixed(2)}mm`);
  return { text: new XMLSerializer().serializeToString(copy), width: whole.width, height: whole.height };
}

/** A text in lines of at most so many letters, broken between words. */
export function wrapped(text: string, most: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/).filter((each) => each !== "")) {
    const last = lines.at(-1);
    if (last === undefined || last.length + 1 + word.length > most) lines.push(word);
    else lines[lines.length - 1] = `${last} ${word}`;
  }
  return lines;
}

export type Table = Drawing["table"];

/** A table as a file of comma-separated values; what is not known is empty. */
export function csvText({ columns, rows }: Table): string {
  return `${csvFormatRows([columns.map(csvField), ...rows.map((row) => row.map(csvField))])}\n`;
}
