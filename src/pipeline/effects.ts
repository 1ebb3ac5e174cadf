import { existsSync } from "node:fs";
import { open, readdir, readFile, realpath, rename, stat, unlink } from "node:fs/promises";
import { hostname } from "node:os";
import { basename, dirname, join } from "node:path";
import { Worker } from "node:worker_threads";
import { filesOfLog } from "../readers/LogReader.ts";
import { readLog } from "../readers/readLog.ts";
import { type FileStamp, fileStamp } from "./fileStamp.ts";
import type { HashAnswer } from "./hashWorker.ts";
import { sha256Of } from "./sha256Of.ts";

/** The built worker lies beside the built program; run from its sources, files are hashed in the calling thread. */
const builtWorker = new URL("./hashWorker.mjs", import.meta.url);

type Waiting = { readonly path: string; readonly done: (digest: string | null) => void };
let thread: { readonly worker: Worker; readonly waiting: Waiting[] } | null = null;

/**
 * SHA-256 of a file, in hexadecimal, worked out in a thread of its own while the caller goes on: a second reading of a
 * long log costs as much as the first. The thread ends when nobody waits for it.
 *
 * @throws what the system says of a file that cannot be read
 */
export async function hashBeside(path: string, workerFile: URL = builtWorker): Promise<string> {
  if (!existsSync(workerFile)) return sha256Of(path);
  const digest = await new Promise<string | null>((done) => {
    thread ??= startThread(workerFile);
    const { worker, waiting } = thread;
    waiting.push({ path, done });
    worker.postMessage(path);
  });
  return digest ?? sha256Of(path);
}

function startThread(workerFile: URL): NonNullable<typeof thread> {
  const worker = new Worker(workerFile);
  const own = { worker, waiting: [] as Waiting[] };
  const end = (): void => {
    if (thread === own) thread = null;
    // those that still wait calculate their sums themselves
    for (const { done } of own.waiting.splice(0)) done(null);
  };
  // answers come in the order of the questions
  worker.on("message", ({ digest }: HashAnswer) => {
    own.waiting.shift()?.done(digest);
    if (own.waiting.length > 0) return;
    end();
    void worker.terminate();
  });
  worker.on("error", end);
  worker.on("exit", end);
  return own;
}

/** A lock older than this belongs to a process that is gone, on whatever machine, milliseconds: what it guards takes a few. */
const stale = 10_000;
const pause = 20;

/**
 * Does some work while no other process does it for the same path: a file beside it, made by the first process, is the
 * lock. One that was left behind is taken over: at once where its process was one of this machine.
 *
 * @throws Error  of the disk, where no file can be made beside the path
 */
async function withLock<T>(path: string, work: () => Promise<T>): Promise<T> {
  const lock = `${path}.lock`;
  for (;;) {
    try {
      const file = await open(lock, "wx");
      await file.writeFile(`${hostname()} ${process.pid}\n`).finally(() => file.close());
      break;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
      const age = await stat(lock).then(
        ({ mtimeMs }) => Date.now() - mtimeMs,
        () => 0,
      );
      if (age > stale || (await isLeft(lock))) await unlink(lock).catch(() => undefined);
      else await new Promise((resolve) => setTimeout(resolve, pause));
    }
  }
  try {
    return await work();
  } finally {
    await unlink(lock).catch(() => undefined);
  }
}

async function isLeft(lock: string): Promise<boolean> {
  const [machine, owner] = (await readFile(lock, "utf8").catch(() => "")).trim().split(" ");
  return machine === hostname() && owner !== undefined && isGone(Number(owner));
}

/**
 * Writes a file beside its place and moves it there once the disk has it. Behind a link its file is replaced, not the link. Parts that
 * processes left behind that are gone are taken away.
 */
export async function writeThroughPart(path: string, content: string | Uint8Array): Promise<void> {
  const place = await realpath(path).catch(() => path);
  const temporary = `${place}.${process.pid}.part`;
  await sweepParts(place);
  try {
    const file = await open(temporary, "w");
    try {
      await file.writeFile(content);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(temporary, place);
  } catch (error) {
    await unlink(temporary).catch(() => undefined);
    throw error;
  }
}

/** What the program writes beside a manifest: whichever is written next, the parts of all of them are looked for. */
const besideManifests = ["evaluation.json", "looks.jsonl", "exclusions.yaml"];

async function sweepParts(place: string): Promise<void> {
  const folder = dirname(place);
  const own = new Set([basename(place), ...besideManifests]);
  for (const found of await readdir(folder).catch((): string[] => [])) {
    const [, name, owner] = /^(.*)\.(\d+)\.part$/.exec(found) ?? [];
    if (name !== undefined && own.has(name) && isGone(Number(owner)))
      await unlink(join(folder, found)).catch(() => undefined);
  }
}

function isGone(owner: number): boolean {
  try {
    process.kill(owner, 0);
    return false;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "ESRCH";
  }
}

/** bytes; hashed sooner than a thread has started */
const small = 1 << 20;

/** Everything the journey needs from outside: disk and log readers. Tests pass their own. */
export interface Effects {
  readonly readText: (path: string) => Promise<string>;
  /** size in bytes; null where there is no such file */
  readonly size: (path: string) => Promise<number | null>;
  readonly sha256: (path: string) => Promise<string>;
  readonly stamp: FileStamp;
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
  readText: async (path) => {
    const found = await stat(path);
    // a pipe would be waited for without end
    if (!found.isFile() && !found.isDirectory()) throw new Error("found a device or a pipe, expected a file");
    return readFile(path, "utf8");
  },
  size: async (path) => {
    try {
      return (await stat(path)).size;
    } catch {
      return null;
    }
  },
  sha256: async (path) => ((await stat(path)).size < small ? sha256Of(path) : hashBeside(path)),
  stamp: fileStamp,
  filesOf: filesOfLog,
  readLog,
  now: () => new Date(),
  writeAtomically: writeThroughPart,
  locked: withLock,
};
