import type { Contrast } from "../campaign.ts";
import { list, optional, text } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type Path, type TextMapping } from "./textTree.ts";

const name = text("the name of a configuration");
/** Where several candidates stand in place of one. */
export const contrastFields = {
  candidates: optional(list(name, "configurations such as [weighted, battery]")).describe(
    "several configurations in question, in place of `candidate`; all verdicts share one family error",
  ),
  compare: optional(list(list(name, "two configurations"), "pairs such as [battery, weighted]")).describe(
    "the pairs that are judged, each the configuration in question and what it is compared with; left out, each candidate against the baseline",
  ),
};

/**
 * `candidates` and `compare`: the pairs that are judged together. The first candidate against the baseline leads: audit, reasons
 * and plan are about that pair.
 *
 * @returns the leading pair first; null where one candidate is declared, or something is wrong
 */
export function readContrasts(
  reading: Reading,
  root: TextMapping,
  { baseline, sham }: { readonly baseline: string | null; readonly sham: string | null },
): readonly Contrast[] | null {
  const candidates = reading.read(contrastFields.candidates, root.candidates, ["candidates"]);
  const pairs = reading.read(contrastFields.compare, root.compare, ["compare"]);
  if (root.candidates === undefined) {
    if (root.compare !== undefined)
      reading.complain(
        ["compare"],
        "found compare without candidates, expected both",
        "write `candidates: [weighted, battery]` in place of `candidate`",
      );
    return null;
  }
  if (root.candidate !== undefined)
    reading.complain(["candidates"], "found candidate and candidates, expected one of them", "leave `candidate` out");
  if (candidates === null) return null;
  const before = reading.problems.count;
  if (candidates.length === 0)
    reading.complain(["candidates"], "found an empty list, expected at least one configuration");
  for (const [index, own] of candidates.entries())
    checkCandidate(reading, root, ["candidates", index], own, {
      earlier: candidates.slice(0, index),
      roles: { baseline, sham },
    });
  if (baseline === null || reading.problems.count > before) return null;
  const [lead, ...others] = candidates.map((candidate) => ({ baseline, candidate }));
  if (pairs === null) return root.compare === undefined ? [lead!, ...others] : null;
  const known = [baseline, ...candidates, ...(sham === null ? [] : [sham])];
  const declared = pairs.flatMap((pair, index) => readPair(reading, ["compare", index], pair, known));
  for (const [index, pair] of declared.entries()) {
    const same = ({ baseline: against, candidate }: Contrast): boolean =>
      [against, candidate].sort().join("\0") === [pair.baseline, pair.candidate].sort().join("\0");
    if (declared.slice(0, index).some(same))
      reading.complain(
        ["compare", index],
        `found ${pair.candidate} and ${pair.baseline} again, expected each pair once, in one direction`,
        "leave the second out: its verdicts would be the first's again",
      );
  }
  const leads = ({ baseline: against, candidate }: Contrast): boolean =>
    against === baseline && candidate === lead!.candidate;
  if (reading.problems.count === before && !declared.some(leads))
    reading.complain(
      ["compare"],
      `found no pair [${lead!.candidate}, ${baseline}], expected the first candidate against the baseline among them`,
      "it leads: audit, reasons and plan are about it",
    );
  const idle = candidates.filter((own) => !declared.some((pair) => pair.baseline === own || pair.candidate === own));
  if (reading.problems.count === before && idle.length > 0)
    reading.complain(["compare"], `found no pair with ${idle.join(", ")}, expected each candidate in one of them`);
  return reading.problems.count > before ? null : [lead!, ...declared.filter((pair) => !leads(pair))];
}

function checkCandidate(
  reading: Reading,
  root: TextMapping,
  path: Path,
  own: string,
  { earlier, roles }: { readonly earlier: readonly string[]; readonly roles: Readonly<Record<string, string | null>> },
): void {
  const known = isMapping(root.configurations) ? Object.keys(root.configurations) : null;
  if (known !== null && !known.includes(own))
    reading.unknownName(path, own, { what: "a declared configuration", known });
  if (earlier.includes(own))
    reading.complain(path, `found ${JSON.stringify(own)} again, expected each candidate once`, "leave the second out");
  for (const [role, other] of Object.entries(roles))
    if (own === other) {
      const message = `found ${JSON.stringify(own)}, which is the ${role} as well, expected another configuration`;
      reading.complain(path, message, "a configuration cannot be compared with itself");
    }
}

function readPair(reading: Reading, path: Path, pair: readonly string[], known: readonly string[]): Contrast[] {
  const [candidate, baseline] = pair;
  if (candidate === undefined || baseline === undefined || pair.length !== 2) {
    const message = `found ${pair.length === 1 ? "one configuration" : `${pair.length} configurations`}, expected two, such as [battery, weighted]`;
    reading.complain(path, message, "the one in question first, then what it is compared with");
    return [];
  }
  const strange = [candidate, baseline].filter((own) => !known.includes(own));
  for (const own of strange)
    reading.unknownName(path, own, { what: "the baseline, the sham or one of `candidates`", known });
  if (candidate === baseline)
    reading.complain(
      path,
      `found ${JSON.stringify(candidate)} twice, expected two configurations`,
      "a configuration cannot be compared with itself",
    );
  return strange.length > 0 || candidate === baseline ? [] : [{ candidate, baseline }];
}
