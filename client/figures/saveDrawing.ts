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

/** Saves a drawing as a file that is complete by itself: on white paper, whatever the theme of the page. */
export function saveSvg(drawing: SVGSVGElement, name: string): void {
  downloadText(`${name}.svg`, "image/svg+xml", completeSvg(drawing).text);
}

/** Saves a drawing as an image at twice its size. */
export async function savePng(drawing: SVGSVGElement, name: string): Promise<void> {
  const { text, width, height } = completeSvg(drawing);
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

/**
 * A copy of the drawing that holds all it needs. It is laid out in a corner out of sight, in the light theme, so that its
 * styles can be read off and written into it.
 */
function completeSvg(drawing: SVGSVGElement): { text: string; width: number; height: number } {
  const box = drawing.viewBox.baseVal;
  const [width, height] = box.width > 0 ? [box.width, box.height] : [drawing.clientWidth, drawing.clientHeight];
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  const corner = document.createElement("div");
  corner.className = "unseen";
  corner.dataset.theme = "light";
  corner.append(copy);
  // beside the drawing: rules that depend on where it stands go on to hold
  (drawing.parentElement ?? document.body).append(corner);
  for (const part of [copy, ...copy.querySelectorAll<SVGElement>("*")]) {
    const style = getComputedStyle(part);
    for (const property of inked) part.style.setProperty(property, style.getPropertyValue(property));
  }
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  paper.setAttribute("x", String(box.x));
  paper.setAttribute("y", String(box.y));
  paper.setAttribute("width", String(width));
  paper.setAttribute("height", String(height));
  paper.setAttribute("fill", getComputedStyle(corner).getPropertyValue("--paper").trim() || "white");
  copy.prepend(paper);
  corner.remove();
  copy.removeAttribute("class");
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  for (const part of copy.querySelectorAll("*")) {
    part.removeAttribute("class");
    part.removeAttribute("tabindex");
  }
  return { text: new XMLSerializer().serializeToString(copy), width, height };
}

export type Table = Drawing["table"];

/** A table as a file of comma-separated values; what is not known is empty. */
export function csvText({ columns, rows }: Table): string {
  return `${csvFormatRows([columns.map(csvField), ...rows.map((row) => row.map(csvField))])}\n`;
}
