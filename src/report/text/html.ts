import { plainText } from "./layout.ts";

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

/** A table of words; numbers in columns of `numeric` are set to the right. @param rows  words, not HTML */
export function htmlTable(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  { numeric = [], caption }: { readonly numeric?: readonly number[]; readonly caption: string },
): string {
  const cell = (tag: "td" | "th", k: number, text: string): string =>
    `<${tag}${tag === "th" ? ' scope="col"' : ""}${numeric.includes(k) ? ' class="number"' : ""}>${htmlText(text)}</${tag}>`;
  return `<table><caption>${htmlText(caption)}</caption><thead><tr>${heads.map((head, k) => cell("th", k, head)).join("")}</tr></thead>
<tbody>${rows.map((row) => `<tr>${row.map((text, k) => cell("td", k, text)).join("")}</tr>`).join("\n")}</tbody></table>`;
}

/** Sentences as a list. @param items  words, not HTML */
export function htmlList(items: readonly string[]): string {
  return `<ul>${items.map((item) => `<li>${htmlText(item)}</li>`).join("\n")}</ul>`;
}
