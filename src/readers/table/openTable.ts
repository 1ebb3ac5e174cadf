import { LogError } from "../../foundation/errors.ts";
import { LogFile } from "../messages/LogPart.ts";
import { findLayout } from "./findLayout.ts";
import type { TableLayout } from "./Tabular.ts";
import { splitLine } from "./tableHeading.ts";

/** A text file that is read in blocks of whole lines. */
interface TextFile {
  readonly path: string;
  readonly bytes: number;
  /** bytes of a byte order mark at the start */
  readonly mark: number;
  /** up to `length` bytes of text from the start, cut after the last line end in them */
  head(length: number): string;
  /** Calls back with one block after the other; each ends with a line end, or with the file. */
  blocks(lineEnd: number, take: (bytes: Buffer, from: number, until: number) => void): void;
  close(): void;
}

const blockLength = 4 * 1024 * 1024;
const longestLine = 64 * 1024 * 1024;
/** larger files in UTF-16 are refused: they are turned to UTF-8 at once */
const largestUtf16 = 512 * 1024 * 1024;

/**
 * Opens a text in UTF-8, Latin-1 or UTF-16 (with a byte order mark).
 *
 * @throws LogError  code `log-unreadable`: cannot be opened; UTF-16 of more than 512 MiB
 */
function openText(path: string): TextFile {
  const file = new LogFile(path);
  const first = file.slice(0, 3);
  const utf16 = (first[0] === 0xff && first[1] === 0xfe) || (first[0] === 0xfe && first[1] === 0xff);
  const mark = first[0] === 0xef && first[1] === 0xbb && first[2] === 0xbf ? 3 : 0;
  const common = { path, bytes: file.bytes, mark };
  if (utf16) {
    let text: Buffer;
    try {
      text = fromUtf16(file, first[0] === 0xff ? "utf-16le" : "utf-16be");
    } finally {
      file.close();
    }
    return {
      ...common,
      head: (length) => decoded(text.subarray(0, length), length < text.length),
      blocks: (_, take) => take(text, 0, text.length),
      close: () => undefined,
    };
  }
  return {
    ...common,
    head: (length) => decoded(Buffer.from(file.slice(mark, length)), length < file.bytes),
    blocks: (lineEnd, take) => eachBlock(file, mark, lineEnd, take),
    close: () => file.close(),
  };
}

function fromUtf16(file: LogFile, encoding: "utf-16le" | "utf-16be"): Buffer {
  if (file.bytes > largestUtf16)
    throw new LogError(
      "log-unreadable",
      `found ${file.bytes} bytes of text in UTF-16, expected at most ${largestUtf16}`,
      {
        place: file.path,
        hint: "save the table as UTF-8",
      },
    );
  return Buffer.from(new TextDecoder(encoding).decode(file.slice(0, file.bytes)), "utf8");
}

/** UTF-8 where it is, else Latin-1; without the line that was cut off. */
function decoded(bytes: Buffer, cut: boolean): string {
  const end = cut
    ? Math.max(bytes.lastIndexOf(10), bytes.indexOf(10) < 0 ? bytes.lastIndexOf(13) : -1) + 1
    : bytes.length;
  const whole = bytes.subarray(0, end > 0 ? end : bytes.length);
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(whole);
  } catch {
    return whole.toString("latin1");
  }
}

function eachBlock(
  file: LogFile,
  start: number,
  lineEnd: number,
  take: (bytes: Buffer, from: number, until: number) => void,
): void {
  let buffer = Buffer.allocUnsafe(Math.min(blockLength, file.bytes + 1));
  let held = 0;
  let position = start;
  for (;;) {
    const count = file.readInto(buffer.subarray(held), position, buffer.length - held);
    position += count;
    held += count;
    const atEnd = held < buffer.length;
    const cut = atEnd ? held : buffer.lastIndexOf(lineEnd, held - 1) + 1;
    if (cut > 0) take(buffer, 0, cut);
    if (atEnd) return;
    if (cut === 0) {
      if (buffer.length >= longestLine)
        throw new LogError("log-unreadable", `found a line of more than ${longestLine} bytes, expected a table`, {
          place: file.path,
          hint: "check that the file is a table of text",
        });
      const longer = Buffer.allocUnsafe(buffer.length * 2);
      buffer.copy(longer, 0, 0, held);
      buffer = longer;
      continue;
    }
    buffer.copy(buffer, 0, cut, held);
    held -= cut;
  }
}

/** A table, opened: how it is made up, and its first rows as text. */
export interface OpenTable {
  readonly file: TextFile;
  readonly layout: TableLayout;
  readonly sample: readonly (readonly string[])[];
}

/** Enough for preambles and headings of hundreds of columns. */
const headLength = 256 * 1024;
const sampleLines = 200;

/**
 * Opens a text and finds out how it is made up as a table.
 *
 * @throws LogError  code `log-unreadable`: cannot be opened; holds no table of numbers
 */
export function openTable(path: string): OpenTable {
  const file = openText(path);
  try {
    const head = firstLines(file.head(headLength));
    const layout = findLayout(head, file.mark);
    if (layout === null)
      throw new LogError(
        "log-unreadable",
        `found text that starts with ${shown(head)}, expected a log; as text that is a table, with rows of numbers in at least two columns`,
        {
          place: path,
          hint: "name a log as the recorder wrote it; a table has a line for each instant, its cells parted by commas, semicolons, bars, tabs or blanks",
        },
      );
    const lines = head.split(layout.lineEnd === 10 ? /\r?\n/ : "\r").slice(layout.preamble + layout.headingLines);
    const sample = lines.filter((line) => line.trim() !== "").map((line) => splitLine(line, layout));
    return { file, layout, sample };
  } catch (error) {
    file.close();
    throw error;
  }
}

function firstLines(text: string): string {
  const lines = text.split("\n");
  return lines.length <= sampleLines ? text : `${lines.slice(0, sampleLines).join("\n")}\n`;
}

function shown(text: string): string {
  return JSON.stringify(text.slice(0, 40));
}
