import type { TextStyle } from "./textStyle.ts";

/** How the text is to be set. */
export interface TextFrame {
  /** columns */
  readonly width: number;
  readonly style: TextStyle;
}
