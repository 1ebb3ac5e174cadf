import { writeFile } from "node:fs/promises";
import { dirname, isAbsolute, join, relative, resolve } from "node:path";
import { CounterpoiseError } from "../foundation/errors.ts";

/**
 * Writes the draft of a manifest to a new file; the paths of its logs, which count from their folder, are made to count from the
 * file's own.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused, or the file is there already
 */
export async function writeDraft(path: string, logFolder: string, manifest: string): Promise<void> {
  const from = relative(resolve(dirname(path)), resolve(logFolder)).replaceAll("\\", "/");
  const text =
    from === ""
      ? manifest
      : manifest
          .split("\n")
          .map((line) => rebased(line, from))
          .join("\n");
  try {
    await writeFile(path, text, { flag: "wx" });
  } catch (cause) {
    throw new CounterpoiseError("not-written", `the draft cannot be written: ${(cause as Error).message}`, {
      place: path,
      hint: "choose another name or folder for --draft",
      cause,
    });
  }
}

/** Paths of runs stand behind `log: ` and within `logs: { NAME: ... }`. */
function rebased(line: string, from: string): string {
  if (!/^ {2}(- \{|# left out)/.test(line)) return line;
  const moved = (text: string): string => {
    const plain = text.startsWith('"') ? (JSON.parse(text) as string) : text;
    const path = isAbsolute(plain) ? plain : join(from, plain).replaceAll("\\", "/");
    return /^[A-Za-z/][A-Za-z0-9/_.-]*$/.test(path) ? path : JSON.stringify(path);
  };
  const value = /("(?:[^"\\]|\\.)*"|[^\s,{}"]+)/.source;
  // the reason before a log that is left out is anything
  const single = new RegExp(`(\\blog: )${value}${line.startsWith("  #") ? "$" : ""}`);
  if (single.test(line)) return line.replace(single, (_, key: string, text: string) => `${key}${moved(text)}`);
  return line.replace(/(\blogs: \{ )(.*?)( \})/, (_, open: string, inner: string, close: string) => {
    const pairs = new RegExp(`([\\w"]+: )${value}`, "g");
    return `${open}${inner.replace(pairs, (_pair, key: string, text: string) => `${key}${moved(text)}`)}${close}`;
  });
}
