import { type TextStyle, textStyle } from "./textStyle.ts";

/** How the text is to be set. */
export interface TextFrame {
  /** columns */
  readonly width: number;
  readonly style: TextStyle;
}

const narrowest = 60;

/** @param options.width  columns; default 80, at least 60 */
export function textFrame(options: { readonly width?: number; readonly colour: boolean }): TextFrame {
  return { width: Math.max(narrowest, options.width ?? 80), style: textStyle(options.colour) };
}
