import type { Verdict } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import { type Subject, subjects } from "../foundation/tracks.ts";
import { joinWords } from "../words/amounts.ts";
import { trajectoriesOf, trajectoriesText } from "./cellPlaces.ts";
import { wordOrQuoted } from "./text/nameText.ts";
import { sizeText } from "./text/numbers.ts";

const notDeclared = "not declared";

/**
 * The smallest difference that matters, distinguished by subject only where it differs: "1.5 mm", "2 mm (vehicle) and 1 mm
 * (effector)", "2 mm (vehicle); not declared (effector)".
 *
 * @param cells  at least one
 */
export function smallestText(cells: readonly Cell[]): string {
  const bySubject = subjectsOf(cells).map((subject) => {
    const { smallest_difference: smallest, unit } = cells.find((cell) => cell.subject === subject)!;
    return { subject, text: smallest === null ? notDeclared : sizeText(smallest, unit) };
  });
  if (new Set(bySubject.map(({ text }) => text)).size === 1) return bySubject[0]!.text;
  const stated = bySubject.map(({ subject, text }) => `${text} (${subject})`);
  return bySubject.some(({ text }) => text === notDeclared) ? stated.join("; ") : joinWords(stated);
}

/** The subjects of some cells, in the order of the list of subjects. */
export function subjectsOf(cells: readonly Cell[]): Subject[] {
  return subjects.filter((subject) => cells.some((cell) => cell.subject === subject));
}

/** A sign beside the word of a verdict, so that a board can be taken in at a glance and in print. */
export const verdictShapes: Readonly<Record<Verdict, string>> = {
  steadier: "▼",
  "less steady": "▲",
  "no difference that matters": "=",
  "within the noise": "~",
  "too few runs": "?",
  "no spread": "∅",
  doubted: "!",
};

/** the blocks' own word for runs that are filed without one */
const withoutBlock = "no block";
/** with more blocks than this, each the only shared one of its trajectory, they are not named */
const mostBlocks = 2;

/**
 * Where days and configurations cannot be separated, from the check `confounded` of the used runs: no block holds both
 * configurations, or a single one does and the runs of the others enter the difference too. That nothing differs may be the
 * days' doing as well as that something does.
 *
 * @returns one sentence for each kind; none where no trajectory of the family is confounded
 */
export function confoundedSentences(runs: readonly RunEvaluation[], family: readonly Cell[]): string[] {
  const all = trajectoriesOf(family);
  const shared = new Map<string, string | null>();
  for (const run of runs)
    for (const { code, evidence } of run.checks)
      if (code === "confounded" && run.used && all.includes(run.trajectory))
        shared.set(run.trajectory, onlyName(evidence.shared_blocks));
  const having = (belongs: (block: string | null) => boolean): string[] =>
    all.filter((name) => shared.has(name) && belongs(shared.get(name)!));
  const sentences: string[] = [];
  const separate = having((block) => block === null);
  if (separate.length > 0)
    sentences.push(
      `The configurations were flown in separate blocks ${trajectoriesText(separate, all)}: what differs there, or does not, may be the days' doing, not the configuration's.`,
    );
  const blocks = [...new Set(all.flatMap((name) => shared.get(name) ?? []))];
  const single = (which: string, belongs: (block: string | null) => boolean): string =>
    `Only ${which} ${trajectoriesText(having(belongs), all)}, and runs of other blocks enter the difference: what differs there, or does not, may in part be the days' doing.`;
  if (blocks.length > mostBlocks)
    return [...sentences, single("a single block each holds both configurations", (block) => block !== null)];
  for (const block of blocks) {
    const which =
      block === withoutBlock
        ? "the runs without a block are of both configurations"
        : `block ${wordOrQuoted(block)} holds both configurations`;
    sentences.push(single(which, (each) => each === block));
  }
  return sentences;
}

/** The one name of a list in a check's evidence; null where it holds none. */
function onlyName(list: RunEvaluation["checks"][number]["evidence"][string] | undefined): string | null {
  return Array.isArray(list) && list.length > 0 ? String(list[0]) : null;
}
