import { closeSync, openSync, readSync } from "node:fs";
import { LogError } from "../foundation/errors.ts";

/** Formats that can be read. */
export type LogFormat = "rosbag1" | "mcap";

/** What each format's files start with. */
const beginnings: readonly { readonly format: LogFormat; readonly name: string; readonly start: RegExp }[] = [
  // Other versions go to the same reader, which says what to do with them.
  { format: "rosbag1", name: "ROS 1 bags", start: /^#ROS(BAG|RECORD) V\d/ },
  // So does a file that was copied as if it were text, and has lost the bytes that would tell.
  { format: "mcap", name: "MCAP files", start: /^\x89MCAP/ },
];

/**
 * Recognises a log by its first bytes, whatever its name.
 *
 * @throws LogError  code `log-unreadable`: no such file, a folder, empty, or no format that can be read; the message
 *                   shows the first bytes and names the formats
 */
export function logFormat(path: string): LogFormat {
  const first = firstBytes(path);
  const text = first.toString("latin1");
  const known = beginnings.find(({ start }) => start.test(text));
  if (known !== undefined) return known.format;
  const supported = beginnings.map(({ name }) => name).join(", ");
  if (first.length === 0)
    throw new LogError("log-unreadable", `found an empty file (0 bytes), expected a log: ${supported}`, {
      place: path,
      hint: "the recorder wrote nothing, or the copy failed: copy it again",
    });
  throw new LogError("log-unreadable", `found a file that starts with ${shown(first)}, expected a log: ${supported}`, {
    place: path,
    hint: "name a log as the recorder wrote it; its name does not matter, its contents do",
  });
}

function firstBytes(path: string): Buffer {
  const bytes = Buffer.alloc(16);
  let file: number | null = null;
  try {
    file = openSync(path, "r");
    return bytes.subarray(0, readSync(file, bytes, 0, bytes.length, 0));
  } catch (cause) {
    throw cannotRead(path, cause);
  } finally {
    if (file !== null) closeSync(file);
  }
}

/** The system's refusal to open or read a log, in words. */
export function cannotRead(path: string, cause: unknown): LogError {
  const code = (cause as NodeJS.ErrnoException).code ?? "unknown";
  const found: Readonly<Record<string, string>> = {
    ENOENT: "no such file",
    ENOTDIR: "no such file",
    EISDIR: "a folder",
    EACCES: "no permission to read it",
  };
  return new LogError(
    "log-unreadable",
    `found ${found[code] ?? `that it cannot be opened (${code})`}, expected a log file`,
    {
      place: path,
      hint:
        code === "EISDIR"
          ? "name the log file itself; the parts of one recording are given as a list of files"
          : "check the path; paths in a manifest are relative to the manifest",
      cause,
    },
  );
}

/** Bytes as text where they are text, else in hexadecimal. */
function shown(bytes: Buffer): string {
  const text = bytes.toString("latin1");
  return /^[\x20-\x7e\r\n\t]*$/.test(text)
    ? JSON.stringify(text)
    : `bytes ${bytes.toString("hex").replace(/..(?=.)/g, "$& ")}`;
}
