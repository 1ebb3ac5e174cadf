import type { RunCheck } from "../contract/evaluation.ts";
import { type GroupedFinding, groupedFindings, isOpen, severalRuns } from "../words/findingWords.ts";
import { exclusionReason, type Filed, type FiledRun, isUnusable, namedConfigurations } from "./runGroups.ts";
import { plainText, type TextFrame, wrapText } from "./text/layout.ts";

/** What several runs have in common, runs left out and why, doubtful runs that were used, doubtful static captures, and the notes as counts or in full. */
export function findingsText(evaluation: Filed, frame: TextFrame, options: { notes?: boolean } = {}): string[] {
  const left = evaluation.runs.filter((run) => !run.used);
  const doubtful = evaluation.runs.filter((run) => run.used && run.checks.some(isGraveOfRun));
  const shared = groupedFindings(evaluation.runs, isGraveOfRun).filter(({ runs }) => runs.length >= severalRuns);
  const together = new Set(shared.flatMap(({ checks }) => checks));
  const putBack = evaluation.runs.filter((run) => run.put_back_because !== null);
  const confounded = confoundedLines(evaluation, frame);
  const captures = (evaluation.noise?.detail.checks ?? []).filter(isOpen);
  const sections = [
    section(
      `Found in several runs alike: ${shared.length}`,
      shared.flatMap((finding) => sharedLines(finding, frame)),
      frame,
    ),
    section(
      `Runs left out: ${left.length}`,
      left.flatMap((run) => runLines(evaluation, run, together, frame)),
      frame,
    ),
    section(
      `Doubtful runs, used all the same: ${doubtful.length}`,
      doubtful.flatMap((run) => runLines(evaluation, run, together, frame)),
      frame,
    ),
    section(
      `Put back by hand: ${putBack.length}`,
      putBack.flatMap((run) => putBackLines(run, frame)),
      frame,
    ),
    section(`Confounded trajectories: ${confounded.length}`, confounded.flat(), frame),
    section("Static captures", checksLines(captures, frame), frame),
    section("Notes", noteLines(evaluation, frame, options.notes ?? false), frame),
  ].filter((lines) => lines.length > 0);
  if (left.length + doubtful.length === 0)
    sections.unshift([`No run is doubtful${confounded.length === 0 ? "" : " by itself"}, none was left out.`]);
  return sections.flatMap((lines, index) => (index === 0 ? lines : ["", ...lines]));
}

/** `confounded` is a finding on a trajectory, though every used run of it bears the check. */
function isGraveOfRun(check: RunCheck): boolean {
  return isOpen(check) && check.code !== "confounded";
}

/** The check `confounded` once per trajectory, each as lines, with how many runs it is about. */
function confoundedLines({ runs }: Filed, frame: TextFrame): string[][] {
  const byTrajectory = new Map<string, { check: RunCheck; count: number }>();
  for (const run of runs) {
    const check = run.used ? run.checks.find(({ code }) => code === "confounded") : undefined;
    if (check === undefined) continue;
    byTrajectory.set(run.trajectory, { check, count: (byTrajectory.get(run.trajectory)?.count ?? 0) + 1 });
  }
  return [...byTrajectory].map(([trajectory, { check, count }]) => [
    ...wrapText(`${plainText(trajectory)} (${count} used ${count === 1 ? "run" : "runs"})`, frame.width, {
      first: "",
      rest: "    ",
    }),
    ...checksLines([check], frame),
  ]);
}

function section(title: string, lines: readonly string[], { style }: TextFrame): string[] {
  return lines.length === 0 ? [] : [style.heading(title), ...lines];
}

/** A finding with all its runs. */
function sharedLines(finding: GroupedFinding, frame: TextFrame): string[] {
  const runs = `${finding.runs.length} runs: ${finding.runs.map(plainText).join(", ")}`;
  return [...checksLines([finding], frame), ...wrapText(runs, frame.width, { first: "    ", rest: "      " })];
}

/** None for a run of which all has been said: nothing but findings that it shares with others. */
function runLines(evaluation: Filed, run: FiledRun, together: ReadonlySet<RunCheck>, frame: TextFrame): string[] {
  const grave = run.checks.filter(isGraveOfRun);
  const own = grave.filter((check) => !together.has(check));
  const hasWord = exclusionReason(run) !== null || run.outcome === "aborted";
  if (own.length === 0 && grave.length > 0 && !hasWord) return [];
  const label = namedConfigurations(evaluation).find(({ key }) => key === run.configuration)?.name;
  const facts = [label ?? plainText(run.configuration ?? ""), plainText(run.trajectory)].filter((fact) => fact !== "");
  if (run.block !== null) facts.push(`block ${plainText(run.block)}`);
  const fate = run.used ? "" : `: ${fateOf(run)}`;
  return [
    ...wrapText(`${plainText(run.id)} (${facts.join(", ")})${fate}`, frame.width, { first: "", rest: "    " }),
    ...checksLines(own, frame),
  ];
}

/** A person's word against an exclusion, which cannot make an unusable or aborted run count. */
function putBackLines(run: FiledRun, { width }: TextFrame): string[] {
  const fate = run.used ? "" : `; not used all the same: ${fateOf(run)}`;
  const line = `${plainText(run.id)}: "${plainText(run.put_back_because ?? "")}"${fate}`;
  return wrapText(line, width, { first: "", rest: "    " });
}

/** Why a run is out. A person's word stands first: it holds whatever the checks say. */
function fateOf(run: FiledRun): string {
  const reasons: string[] = [];
  const word = exclusionReason(run);
  if (word !== null) reasons.push(`excluded, "${plainText(word)}"`);
  if (run.outcome === "aborted") reasons.push("aborted");
  if (isUnusable(run)) reasons.push("unusable");
  return reasons.length === 0 ? "not used" : reasons.join("; ");
}

/** Every check in words; a hint that the next one repeats is reported once. */
function checksLines(
  checks: readonly Pick<RunCheck, "severity" | "code" | "message" | "hint">[],
  { width, style }: TextFrame,
): string[] {
  return checks.flatMap((check, index) => {
    const { severity, code, message } = check;
    const said = wrapText(`${severity}: ${code}: ${plainText(message)}`, width, { first: "  ", rest: "    " });
    said[0] = said[0]!.replace(severity, (severity === "unusable" ? style.unusable : style.doubt)(severity));
    const hint = plainText(check.hint);
    const next = checks[index + 1];
    const repeated = next !== undefined && next.code === code && plainText(next.hint) === hint;
    if (hint === "" || repeated) return said;
    return [...said, ...wrapText(`what to do: ${hint}`, width, { first: "    ", rest: "      " })];
  });
}

function noteLines(evaluation: Filed, { width }: TextFrame, inFull: boolean): string[] {
  const notes = [
    ...evaluation.runs.flatMap((run) => run.checks.map((check) => ({ where: plainText(run.id), check }))),
    ...(evaluation.noise?.detail.checks ?? []).map((check) => ({ where: "static captures", check })),
  ].filter(({ check }) => check.severity === "note");
  if (notes.length === 0) return [];
  if (inFull)
    return notes.flatMap(({ where, check }) =>
      wrapText(`${where}: ${check.code}: ${plainText(check.message)}`, width, { first: "  ", rest: "    " }),
    );
  const counts = new Map<string, number>();
  for (const { check } of notes) counts.set(check.code, (counts.get(check.code) ?? 0) + 1);
  const list = [...counts].map(([code, count]) => `${code} ${count}`).join(", ");
  return wrapText(`${list}. --notes lists them.`, width, { first: "  " });
}
