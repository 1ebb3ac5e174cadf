import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { readFile, rename, stat, unlink, writeFile } from "node:fs/promises";
import { readLog } from "../readers/readLog.ts";

/** Everything the journey needs from outside: disk and log readers. Tests pass their own. */
export interface Effects {
  readonly readText: (path: string) => Promise<string>;
  /** size in bytes; null where there is no such file */
  readonly size: (path: string) => Promise<number | null>;
  readonly sha256: (path: string) => Promise<string>;
  readonly readLog: typeof readLog;
  /** all or nothing: a reader never sees half a file */
  readonly writeAtomically: (path: string, text: string) => Promise<void>;
}

export const diskEffects: Effects = {
  readText: (path) => readFile(path, "utf8"),
  size: async (path) => {
    try {
      return (await stat(path)).size;
    } catch {
      return null;
    }
  },
  sha256: async (path) => {
    const hash = createHash("sha256");
    for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20 })) hash.update(chunk as Uint8Array);
    return hash.digest("hex");
  },
  readLog,
  writeAtomically: async (path, text) => {
    const temporary = `${path}.${process.pid}.part`;
    try {
      await writeFile(temporary, text);
      await rename(temporary, path);
    } catch (error) {
      await unlink(temporary).catch(() => undefined);
      throw error;
    }
  },
};
