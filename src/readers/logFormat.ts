import { closeSync, openSync, readSync, statSync } from "node:fs";
import { type LogFormat, logFormats } from "../catalogue/logFormats.ts";
import { LogError } from "../foundation/errors.ts";

/** What the files of each format start with, read as Latin-1. */
const beginnings: readonly { readonly format: LogFormat; readonly start: RegExp }[] = [
  // Other versions go to the same reader, which says what to do with them.
  { format: "rosbag1", start: /^#ROS(BAG|RECORD) V\d/ },
  // So does a file that was copied as if it were text, and has lost the bytes that would tell.
  { format: "mcap", start: /^\x89MCAP/ },
  { format: "ros2", start: /^SQLite format 3\0/ },
  // a file that the recorder packed as a whole (zstd's magic number), or that was packed by several at once (zstd's frame
  // to be skipped, which tells how long the next is)
  { format: "ros2", start: /^(\x28\xb5\x2f\xfd|[P-_]\*M\cX)/ },
  { format: "ulog", start: /^ULog/ },
  { format: "parquet", start: /^PAR1/ },
];

/** How many bytes tell text from something else. */
const looked = 4096;

/**
 * Recognises a log by its first bytes, whatever its name; a folder is one of ROS 2.
 *
 * @throws LogError  code `log-unreadable`: no such file, empty, or no format that can be read; the message shows the
 *                   first bytes and names the formats
 */
export function logFormat(path: string): LogFormat {
  const first = firstBytes(path);
  if (first === null) return "ros2";
  const text = first.toString("latin1");
  const known = beginnings.find(({ start }) => start.test(text));
  if (known !== undefined) return known.format;
  if (first.length > 0 && isText(first)) return "table";
  if (isPointFile(first)) return "c3d";
  const supported = Object.values(logFormats)
    .map(({ plural }) => plural)
    .join(", ");
  if (first.length === 0)
    throw new LogError("log-unreadable", `found an empty file (0 bytes), expected a log: ${supported}`, {
      place: path,
      hint: "the recorder wrote nothing, or the copy failed: copy it again",
    });
  const start = shown(first.subarray(0, 16));
  throw new LogError("log-unreadable", `found a file that starts with ${start}, expected a log: ${supported}`, {
    place: path,
    hint: "name a log as the recorder wrote it; its name does not matter, its contents do",
  });
}

/** Text has no control characters but blanks and line ends; UTF-16 says so by its first two bytes. */
function isText(bytes: Buffer): boolean {
  if (bytes.length >= 2 && /^(\xff\xfe|\xfe\xff)/.test(bytes.toString("latin1", 0, 2))) return true;
  for (const byte of bytes) if (byte < 32 && !(byte >= 9 && byte <= 13) && byte !== 27) return false;
  return true;
}

/** C3D: the block its parameters start at, then 0x50. */
function isPointFile(bytes: Buffer): boolean {
  return bytes.length >= 2 && bytes[0]! > 0 && bytes[1] === 0x50;
}

/** null for a folder */
function firstBytes(path: string): Buffer | null {
  const bytes = Buffer.alloc(looked);
  let file: number | null = null;
  try {
    const found = statSync(path);
    if (found.isDirectory()) return null;
    // a pipe would be waited for
    if (!found.isFile()) throw notAFile(path);
    file = openSync(path, "r");
    return bytes.subarray(0, readSync(file, bytes, 0, bytes.length, 0));
  } catch (cause) {
    throw cause instanceof LogError ? cause : cannotRead(path, cause);
  } finally {
    if (file !== null) closeSync(file);
  }
}

/** What is neither a file nor a folder: a pipe, a device. */
export function notAFile(path: string): LogError {
  return new LogError("log-unreadable", "found a device, expected a log file", {
    place: path,
    hint: "copy the log into a file first",
  });
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

/** The first bytes as text where they are text, else in hexadecimal. */
function shown(bytes: Buffer): string {
  const text = bytes.toString("latin1");
  return /^[\x20-\x7e\r\n\t]*$/.test(text)
    ? JSON.stringify(text)
    : `bytes ${bytes.toString("hex").replace(/..(?=.)/g, "$& ")}`;
}
