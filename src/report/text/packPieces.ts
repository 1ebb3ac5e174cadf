import { textWidth } from "./textWidth.ts";
import { wrapText } from "./wrapText.ts";

/**
 * Pieces set in lines so that none is broken that fits a line: numbers stay with their units, intervals whole.
 *
 * @param between  stands between two pieces of a line; its blanks at the end are dropped where a line ends
 * @param options.first  stands before the first line
 * @param options.rest   stands before the others
 */
export function packPieces(
  pieces: readonly string[],
  width: number,
  options: { between?: string; first?: string; rest?: string } = {},
): string[] {
  const { between = " ", first = "", rest = "" } = options;
  const lines: string[] = [];
  let line = "";
  pieces.forEach((piece, index) => {
    const ended = index < pieces.length - 1 ? piece + between.trimEnd() : piece;
    const joined = line === "" ? ended : `${line}${between.slice(between.trimEnd().length)}${ended}`;
    if (line !== "" && textWidth(joined) <= width) {
      line = joined;
      return;
    }
    if (line !== "") lines.push(line);
    const broken = wrapText(ended, width, { first: lines.length === 0 ? first : rest, rest });
    lines.push(...broken.slice(0, -1));
    line = broken.at(-1)!;
  });
  return line === "" ? lines : [...lines, line];
}
