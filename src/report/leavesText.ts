import { plainText } from "./text/plainText.ts";
import { textStyle } from "./text/textStyle.ts";
import { textTable } from "./text/textTable.ts";

/** The numbers of a topic's first messages, as `fields` of a manifest names them. */
export function leavesText(
  found: {
    readonly topic: string;
    readonly type: string;
    readonly leaves: readonly { readonly path: string; readonly values: readonly number[] }[];
  },
  options: { width?: number; colour: boolean },
): string {
  const style = textStyle(options.colour);
  const { topic, type, leaves } = found;
  const count = Math.max(0, ...leaves.map(({ values }) => values.length));
  const lines = [
    style.heading(`${plainText(topic)} (${plainText(type)})`),
    ...(leaves.length === 0
      ? ["No message with a number in it."]
      : textTable(
          ["first", "second", "third"].slice(0, count),
          leaves.map(({ path, values }) => ({ label: `  ${plainText(path)}`, cells: values.map(numberText) })),
          Math.max(60, options.width ?? 80),
        )),
    ...(leaves.length === 0
      ? []
      : [`A signal names them by fields, such as fields: { x: ${plainText(leaves[0]!.path)} }.`]),
  ];
  return `${lines.join("\n")}\n`;
}

/** Seven digits show a place to the micrometre; a date keeps its seconds. */
function numberText(value: number): string {
  if (Number.isNaN(value)) return "none";
  return String(Number(value.toPrecision(Math.abs(value) > 1e8 ? 13 : 7)));
}
