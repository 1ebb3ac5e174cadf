import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { LogError } from "../../foundation/errors.ts";
import { codecFor, sizeFault, zstdContentSize } from "../messages/codecs.ts";
import { LogFile } from "../messages/LogFile.ts";

/**
 * A file that its recorder packed as a whole, unpacked into the system's temporary folder.
 *
 * @returns where it lies now, and what removes it
 * @throws LogError  code `log-unreadable`: damaged, or a packing that does not say its length
 */
export async function unpackedFile(path: string): Promise<{ path: string; remove: () => void }> {
  const file = new LogFile(path);
  let bytes: Uint8Array;
  try {
    bytes = file.slice(0, file.bytes);
  } finally {
    file.close();
  }
  const content = await unpacked(bytes, path);
  const folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
  const remove = (): void => rmSync(folder, { recursive: true, force: true });
  try {
    const target = join(folder, basename(path).replace(/\.zstd$/, ""));
    writeFileSync(target, content);
    return { path: target, remove };
  } catch (cause) {
    remove();
    throw new LogError("log-unreadable", `found no room to unpack it (${(cause as NodeJS.ErrnoException).code})`, {
      place: path,
      hint: "make room in the temporary folder, or unpack the file first (zstd -d)",
      cause,
    });
  }
}

async function unpacked(bytes: Uint8Array, path: string): Promise<Uint8Array> {
  try {
    const told = zstdContentSize(bytes);
    if (told === null) throw new RangeError("it does not say how long it becomes");
    const fault = sizeFault("zstd", bytes.length, Number(told));
    if (fault !== null) throw new RangeError(fault);
    return await (await codecFor("zstd")!)(bytes, Number(told));
  } catch (cause) {
    throw new LogError(
      "log-unreadable",
      `found a zstd file that cannot be unpacked (${cause instanceof Error ? cause.message : cause}), expected a packed file of a ROS 2 bag`,
      { place: path, hint: "unpack it first (zstd -d), or copy it again from the recorder", cause },
    );
  }
}
