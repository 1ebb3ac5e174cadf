import { open, stat, unlink } from "node:fs/promises";

/** A lock older than this belongs to a process that is gone, milliseconds: what it guards takes a few. */
const stale = 10_000;
const pause = 20;

/**
 * Does some work while no other process does it for the same path: a file beside it, made by whoever comes first, is the
 * lock. One that was left behind is taken over.
 *
 * @throws Error  of the disk, where no file can be made beside the path
 */
export async function withLock<T>(path: string, work: () => Promise<T>): Promise<T> {
  const lock = `${path}.lock`;
  for (;;) {
    try {
      await (await open(lock, "wx")).close();
      break;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "EEXIST") throw error;
      const age = await stat(lock).then(
        ({ mtimeMs }) => Date.now() - mtimeMs,
        () => 0,
      );
      if (age > stale) await unlink(lock).catch(() => undefined);
      else await new Promise((resolve) => setTimeout(resolve, pause));
    }
  }
  try {
    return await work();
  } finally {
    await unlink(lock).catch(() => undefined);
  }
}
