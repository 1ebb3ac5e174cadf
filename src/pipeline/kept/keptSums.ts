import { createHash } from "node:crypto";
import { hostname } from "node:os";
import { resolve } from "node:path";
import type { Effects } from "../effects.ts";
import { type FileStamp, isSettled } from "../fileStamp.ts";
import type { Records } from "./records.ts";

interface KnownSum {
  readonly stamp: string;
  readonly sum: string;
}

/** paths whose sums are kept on disk; the oldest are let go */
const mostPaths = 20_000;
/** stamps mean something on the machine that gave them alone */
const name = `sums-${createHash("sha256").update(hostname()).digest("hex").slice(0, 16)}`;

/**
 * Effects that compute no file's sum twice while its stamp (times of change, size, inode) stays the same: within this process,
 * and where there are records from one to the next.
 *
 * A stamp stands for a content only where it was older than the clock of a disk can blur when the sum was begun, and the same
 * when it was done.
 *
 * @param verify  sums of earlier processes are not believed: all are computed again
 * @returns effects, and `save`, which hands the sums on to the next process
 */
export function keptSums(
  effects: Effects,
  {
    stamp = effects.stamp,
    records = null,
    verify = false,
  }: { stamp?: FileStamp; records?: Records | null; verify?: boolean },
): { readonly effects: Effects; readonly save: () => Promise<void> } {
  const known = new Map<string, { readonly stamp: string; readonly sum: Promise<string> }>();
  const fresh = new Map<string, KnownSum>();
  let loading: Promise<ReadonlyMap<string, KnownSum>> | null = null;
  const stored = async (): Promise<ReadonlyMap<string, KnownSum>> => {
    const found = await records?.read(name);
    return found instanceof Map ? found : new Map();
  };
  const compute = async (path: string, before: string): Promise<string> => {
    const begun = effects.now().getTime();
    const sum = await effects.sha256(path);
    if (records !== null && isSettled(before, begun) && (await stamp(path)) === before)
      fresh.set(resolve(path), { stamp: before, sum });
    return sum;
  };
  const sumOf = async (path: string, now: string): Promise<string> => {
    if (verify || records === null) return compute(path, now);
    loading ??= stored();
    const kept = (await loading).get(resolve(path));
    return kept !== undefined && now !== "" && kept.stamp === now ? kept.sum : compute(path, now);
  };
  return {
    effects: {
      ...effects,
      sha256: async (path) => {
        const now = await stamp(path);
        const before = known.get(path);
        if (before !== undefined && now !== "" && before.stamp === now) return before.sum;
        const sum = sumOf(path, now);
        known.set(path, { stamp: now, sum });
        sum.catch(() => known.delete(path));
        return sum;
      },
    },
    save: async () => {
      if (fresh.size === 0) return;
      // read again: another process may have added its own meanwhile
      const all = new Map([...((await stored()) ?? []), ...fresh]);
      await records?.write(name, new Map([...all].slice(-mostPaths)));
      fresh.clear();
    },
  };
}
