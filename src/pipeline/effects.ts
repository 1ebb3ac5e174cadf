import { readFile, rename, stat, unlink, writeFile } from "node:fs/promises";
import { filesOfLog } from "../readers/filesOfLog.ts";
import { readLog } from "../readers/readLog.ts";
import { hashBeside } from "./hashBeside.ts";
import { withLock } from "./withLock.ts";

/** Everything the journey needs from outside: disk and log readers. Tests pass their own. */
export interface Effects {
  readonly readText: (path: string) => Promise<string>;
  /** size in bytes; null where there is no such file */
  readonly size: (path: string) => Promise<number | null>;
  readonly sha256: (path: string) => Promise<string>;
  /** the files that a log is made of: itself, or those in its folder */
  readonly filesOf: (path: string) => Promise<readonly string[]>;
  readonly readLog: typeof readLog;
  readonly now: () => Date;
  /** all or nothing: a reader never sees half a file */
  readonly writeAtomically: (path: string, text: string) => Promise<void>;
  /** one at a time for one path, whichever process asks; throws where the disk refuses, or the lock stays taken */
  readonly locked: <T>(path: string, work: () => Promise<T>) => Promise<T>;
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
  sha256: (path) => hashBeside(path),
  filesOf: filesOfLog,
  readLog,
  now: () => new Date(),
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
  locked: withLock,
};
