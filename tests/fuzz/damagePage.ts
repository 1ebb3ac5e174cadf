import { largest, longest, type Outcome } from "./runMutants.ts";

/** A seed, its mutants by number and those with an extreme number at every place. */
export interface SeedOutcome {
  readonly name: string;
  readonly random: Outcome;
  readonly everywhere: Outcome;
}

const words = ["same", "refused", "reported", "stands"] as const;
const sum = (counts: Outcome["counts"]): number => Object.values(counts).reduce((a, b) => a + b, 0);

/** The manual's page of what damaged logs come to. */
export function damagePage(outcomes: readonly SeedOutcome[], date: string): string {
  const row = (name: string, kind: string, { counts, faults, slowest, mebibytes }: Outcome): string =>
    `| ${[name, kind, sum(counts), ...words.map((word) => counts[word]), faults.length, slowest.toFixed(2), Math.ceil(mebibytes)].join(" | ")} |`;
  const rows = outcomes.flatMap(({ name, random, everywhere }) => [
    row(name, "random", random),
    row(name, "every place", everywhere),
  ]);
  return `# Damaged logs

Counted on ${date} by the project's slow tests: small sound logs (24 messages a topic) with seeded damage (bits turned over, bytes and numbers
overwritten, stretches cut off, taken out, doubled, moved), half of it in what is no number; and, as "every place", logs of two messages a topic with 0, -1, NaN,
infinity, 1e200, 2^31 and 2^63 as double, float and whole number at every byte (in text: in every cell).

| word | what became of the log |
|---|---|
| same | it gives the sound log's values |
| refused | it is not read: the error names the file, what was found, what to do |
| reported | it gives other values, and its reader or the screening of its signals says that something is missing, damaged or strange |
| stands | it gives other values, and no reader can know: see below |
| broken promises | other values that nobody reports, an error of another kind, more than ${longest} s of processor time, more than ${largest} MiB |

| log | damage | logs | same | refused | reported | stands | broken promises | slowest, s | most memory, MiB |
|---|---|---|---|---|---|---|---|---|---|
${rows.join("\n")}

What stands:

- Bags, ROS 2 databases, ULog, Parquet and C3D keep no checksum of their numbers. A flipped bit in a pose that leaves it a size that can be measured is
  a measurement like any other; so is a stamp that stays between its neighbours. What such damage changes is that one number, and never what stands
  beside it. A large one is a jump, and found (\`jump\`, \`stamp-backward\`).
- ULog, ROS 2 databases and text do not count their messages: one that is lost whole is not missed, but as a gap.
- In text every character speaks for itself: what stands there is what is read, no more and no less.

MCAP keeps checksums: nothing stands. Where bits may be lost on the way, record in it.
`;
}
