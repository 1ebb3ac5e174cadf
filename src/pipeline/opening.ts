import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Look } from "../contract/look.ts";
import type { LookedAt } from "./lookGrounds.ts";
import { fingerprintOf } from "./wholeText.ts";

type Opening = NonNullable<Look["opening"]>;

/** parts of a set-up as a sentence names them, and what they are of the campaign */
const parts = {
  frames: "frames",
  signals: "signals",
  clocks: "clocks",
  trajectories: "trajectories",
  primary: "the measure",
  smallestDifference: "the smallest difference",
  tolerance: "the tolerance",
  judgeIn: "the axes judged in",
  family: "the family",
  accept: "accepted findings",
  thresholds: "the thresholds",
} as const;

/** How things stand when the answer is seen for the first time: sums of the files, fingerprints of the set-up, exclusions. */
export function openingOf({ campaign, runs, inputs }: LookedAt): Opening {
  return {
    files: Object.fromEntries(inputs.map(({ path, sha256 }) => [path, sha256])),
    set_up: Object.fromEntries(
      Object.entries(parts).map(([key, name]) => {
        const own = campaign[key as keyof typeof parts] ?? null;
        // which pairs are judged is part of what shares the error
        const pairs = key === "family" ? campaign.furtherContrasts : undefined;
        return [name, markOf(pairs === undefined ? own : [own, pairs])];
      }),
    ),
    filing: markOf(
      runs.map(({ id, configuration, trajectory, block }) => [id, configuration, trajectory, block]).sort(),
    ),
    runs: runs.map(({ id }) => id).sort(),
    excluded: Object.fromEntries(
      campaign.runs.flatMap(({ id, exclude }) => (exclude === null ? [] : [[id, exclude] as const])),
    ),
  };
}

/**
 * What of set-up, files and exclusions is no longer as it was when the answer was first seen.
 *
 * @param own  the looks at these flights (`looksAt`), the first of them the opening
 * @param now  the opening's instant where this is the first look
 * @returns undefined where the first look was recorded by a version that kept no opening
 */
export function sinceOpening(own: readonly Look[], at: LookedAt, now: Date): CampaignEvaluation["looks"]["opened"] {
  const [first] = own;
  const today = openingOf(at);
  const exclusions = Object.keys((first?.opening ?? today).excluded).length;
  if (first === undefined) return { at: now.toISOString(), exclusions, changed: [] };
  if (first.opening === undefined) return undefined;
  return { at: first.at, exclusions, changed: changesOf(first.opening, today) };
}

function changesOf(before: Opening, today: Opening): string[] {
  const logs = new Set(Object.keys(before.files));
  const changed = [...logs].filter(
    (path) => isLog(path) && path in today.files && today.files[path] !== before.files[path],
  );
  const fresh = today.runs.filter((id) => !before.runs.includes(id));
  const gone = before.runs.filter((id) => !today.runs.includes(id));
  const out = Object.keys(today.excluded).filter((id) => !(id in before.excluded));
  const back = Object.keys(before.excluded).filter((id) => !(id in today.excluded));
  const list = (what: string, names: readonly string[]): string[] =>
    names.length === 0 ? [] : [`${what} ${names.join(", ")}`];
  const same = fresh.length + gone.length === 0;
  return [
    ...Object.keys(before.set_up).filter((part) => today.set_up[part] !== before.set_up[part]),
    // an opening from before a family could be declared had none
    ...(parts.family in before.set_up || today.set_up[parts.family] === markOf(null) ? [] : [parts.family]),
    ...(same && today.filing !== before.filing ? ["the filing of runs"] : []),
    ...list("excluded:", out),
    ...list("no longer excluded:", back),
    ...list("runs added:", fresh),
    ...list("runs taken away:", gone),
    ...list("files:", changed),
  ];
}

/** Manifest and exclusions change with every word; what of them matters is compared by itself. */
function isLog(path: string): boolean {
  return !/\.(ya?ml|csv)$/i.test(path);
}

const markOf = (value: unknown): string => fingerprintOf(JSON.stringify(value));
