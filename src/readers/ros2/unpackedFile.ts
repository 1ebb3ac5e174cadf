import { closeSync, mkdtempSync, openSync, rmSync, statfsSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { LogError } from "../../foundation/errors.ts";
import { mostBelieved } from "../messages/codecs.ts";
import { LogFile } from "../messages/LogPart.ts";
import { freshZstd } from "../messages/zstd.ts";
import { type BytesAt, type ZstdFrame, zstdFrames } from "../messages/zstdFrames.ts";

/** The longest frame that is unpacked, bytes: the decoder has room for two gigabytes, packed and unpacked. */
const longestFrame = 2 ** 30;
/** How much of a file is looked at at once where its frames are sought, bytes. */
const window = 2 ** 16;

/**
 * A file that its recorder packed as a whole, unpacked into the system's temporary folder.
 *
 * Of one zstd frame or several, whether they say how long they become or not. Memory: one frame, packed and unpacked.
 *
 * @returns where it lies now, and what removes it
 * @throws LogError  code `log-unreadable`: damaged, a frame too long for memory, or no room for what it becomes
 */
export async function unpackedFile(path: string): Promise<{ path: string; remove: () => void }> {
  const file = new LogFile(path);
  try {
    const needed = checkFrames(file);
    const folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
    const remove = (): void => rmSync(folder, { recursive: true, force: true });
    try {
      const target = join(folder, basename(path).replace(/\.zstd?$/, ""));
      refuseWithoutRoom(needed, folder, path);
      await unpackInto(target, file);
      return { path: target, remove };
    } catch (cause) {
      remove();
      throw cause;
    }
  } finally {
    file.close();
  }
}

/** Looks at all frames before the first is unpacked. @returns how long they say that they become, bytes */
function checkFrames(file: LogFile): number {
  let [total, stated] = [0, 0];
  for (const frame of framesOf(file)) {
    total += frame.size;
    if (frame.stated) stated += frame.size;
    if (frame.size > longestFrame || frame.size + frame.length > 1.75 * longestFrame)
      throw new LogError(
        "log-unreadable",
        `found a zstd frame at byte ${frame.position} that becomes ${frame.stated ? "" : "up to "}${frame.size} bytes, expected no more than ${longestFrame}: a frame is unpacked in memory`,
        { place: file.path, hint: `unpack it first: ${command(file.path)}` },
      );
  }
  if (total > mostBelieved(file.bytes))
    throw unreadable(file.path, new RangeError(`it claims to become ${total} bytes, of ${file.bytes}`));
  return stated;
}

function* framesOf(file: LogFile): Generator<ZstdFrame> {
  try {
    yield* zstdFrames(windowed(file), file.bytes);
  } catch (cause) {
    throw cause instanceof LogError ? cause : unreadable(file.path, cause);
  }
}

function refuseWithoutRoom(needed: number, folder: string, path: string): void {
  const { bavail, bsize } = statfsSync(folder);
  if (needed > bavail * bsize)
    throw noRoom(path, new RangeError(`it becomes ${needed} bytes, the temporary folder has ${bavail * bsize}`));
}

async function unpackInto(target: string, file: LogFile): Promise<void> {
  const unzstd = await freshZstd();
  const output = openSync(target, "w");
  try {
    for (const { position, length, size } of framesOf(file)) {
      let content: Uint8Array;
      try {
        content = unzstd(file.slice(position, length), size);
      } catch (cause) {
        throw unreadable(file.path, cause);
      }
      for (let at = 0; at < content.length; ) at += writeSync(output, content, at);
    }
  } catch (cause) {
    throw cause instanceof LogError ? cause : noRoom(file.path, cause);
  } finally {
    closeSync(output);
  }
}

/** Bytes of a file for many short looks in the order of the file. */
function windowed(file: LogFile): BytesAt {
  let from = 0;
  let bytes: Uint8Array = new Uint8Array();
  return (position, length) => {
    if (position < from || position + length > from + bytes.length) {
      from = position;
      bytes = file.slice(position, Math.max(window, length));
    }
    return bytes.subarray(position - from, position - from + length);
  };
}

function unreadable(path: string, cause: unknown): LogError {
  const why = cause instanceof Error ? cause.message : String(cause);
  return new LogError(
    "log-unreadable",
    `found a zstd file that cannot be unpacked (${why}), expected a packed file of a ROS 2 bag`,
    { place: path, hint: `copy it again from the recorder, or see what can be unpacked: ${command(path)}`, cause },
  );
}

function noRoom(path: string, cause: unknown): LogError {
  const { code, message } = cause as NodeJS.ErrnoException;
  return new LogError("log-unreadable", `found no room to unpack it (${code ?? message})`, {
    place: path,
    hint: `make room in the temporary folder, or unpack the file first: ${command(path)}`,
    cause,
  });
}

/** zstd's own program knows what to call the unpacked file by some endings only. */
function command(path: string): string {
  const unpacked = /\.zstd?$/.test(path) ? path.replace(/\.zstd?$/, "") : `${path}.unpacked`;
  return `zstd -d "${path}" -o "${unpacked}"`;
}
