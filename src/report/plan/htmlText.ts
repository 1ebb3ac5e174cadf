import { plainText } from "../text/plainText.ts";

const entities: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** A person's words as they may stand in a page, between tags or in a quoted attribute: no markup, no turned writing. */
export function htmlText(text: string): string {
  return plainText(text).replace(/[&<>"']/g, (character) => entities[character]!);
}
