import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";

/** What identifies the poses of a run: hashes of a sample of its positions, chosen by their own value. */
export interface Fingerprint {
  readonly run: string;
  readonly hashes: ReadonlySet<number>;
}

const bits = new Float64Array(3);
// signed, as the hash is: larger numbers than these take an object each until the loop is compiled
const words = new Int32Array(bits.buffer);

/**
 * Hashes of a run's vehicle positions, time left out: the same flight filed under other stamps is still the same flight.
 * Every 16th hash value is kept, so that a trimmed copy keeps the same ones; a position that repeats counts once.
 */
export function fingerprint(run: string, pose: RecordedSignal | undefined): Fingerprint {
  const hashes = new Set<number>();
  const { x, y, z } = pose?.columns ?? {};
  if (!x || !y || !z) return { run, hashes };
  const keepAll = x.length < 3000;
  for (let i = 0; i < x.length; i++) {
    bits[0] = x[i]!;
    bits[1] = y[i]!;
    bits[2] = z[i]!;
    let hash = 2166136261;
    // FNV-1a over words (Fowler, Noll, Vo), finished with a shift so that the low bits mix
    for (let w = 0; w < 6; w++) hash = Math.imul(hash ^ words[w]!, 16777619);
    hash ^= hash >>> 15;
    if (keepAll || (hash & 15) === 0) hashes.add(hash >>> 0);
  }
  return { run, hashes };
}

/**
 * For each run, the earlier run whose poses it repeats: a copy is no replicate, only the first counts.
 *
 * @param share  share of a run's poses that must also stand in the other
 * @returns checks by run id
 */
export function findCopies(fingerprints: readonly Fingerprint[], share: number): Map<string, Check> {
  const owners = new Map<number, number[]>();
  const checks = new Map<string, Check>();
  fingerprints.forEach(({ run, hashes }, index) => {
    const shared = new Map<number, number>();
    for (const hash of hashes) {
      const earlier = owners.get(hash);
      if (!earlier) owners.set(hash, [index]);
      else {
        for (const owner of earlier) shared.set(owner, (shared.get(owner) ?? 0) + 1);
        if (earlier.length < 4) earlier.push(index);
      }
    }
    const [owner, common] = [...shared].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [-1, 0]);
    if (owner < 0) return;
    const other = fingerprints[owner]!;
    const part = common / Math.min(hashes.size, other.hashes.size);
    if (hashes.size < 20 || part < share) return;
    checks.set(run, {
      code: "copied",
      severity: "unusable",
      message: `${(100 * part).toFixed(0)} % of its poses are those of run ${other.run}: the same flight filed twice`,
      evidence: { same_as: other.run, share: part, compared: Math.min(hashes.size, other.hashes.size) },
      hint: "a copy is no replicate; only the first counts. Take the line out of the manifest, or correct the path of its log",
    });
  });
  return checks;
}

/**
 * Doubts of the runs that were filed again under another configuration or trajectory: the copy does not count, but which of
 * the two labels is right no one but a person can say.
 *
 * @param copies  checks of the copies by run id (`findCopies`)
 * @returns checks by run id
 */
export function doubtedOriginals(
  copies: ReadonlyMap<string, Check>,
  runs: readonly { readonly id: string; readonly configuration: string; readonly trajectory: string }[],
): Map<string, Check> {
  const byId = new Map(runs.map((run) => [run.id, run]));
  const doubts = new Map<string, Check>();
  for (const [id, { evidence }] of copies) {
    const copy = byId.get(id)!;
    const original = byId.get(String(evidence.same_as))!;
    if (copy.configuration === original.configuration && copy.trajectory === original.trajectory) continue;
    doubts.set(original.id, {
      code: "copied",
      severity: "doubt",
      message: `run ${id} holds the same flight, filed as ${copy.configuration}, ${copy.trajectory}; this one is filed as ${original.configuration}, ${original.trajectory}`,
      evidence: { same_as: id, filed_as: [copy.configuration, copy.trajectory] },
      hint: "one of the two labels is wrong; the first line counts until the manifest is put right",
    });
  }
  return doubts;
}
