import type { Acceptance } from "../contract/campaign.ts";
import type { RunCheck, RunEvaluation } from "../contract/evaluation.ts";

/** A finding speaks again where one of its figures is further than this from what was accepted. */
const tolerance = 0.2;

/** Figures that say how large a fault is; the others count and date it. */
const sized = /_(?:m|rad|s|hz|v)$|share|ratio|^ratio/;
const dated = /(?:^|_)(?:at|from|first|last)_/;

/**
 * The runs with the doubts marked that a person takes as they are (`accept` of the manifest): as long as each of the figures that
 * were accepted is within 20 % of what it was then, of the largest of its unit for the parts of a vector. A finding that has
 * grown speaks again, and so does an acceptance that names no figure: it would take anything. What makes a run unusable is
 * never taken.
 */
export function withAccepted(accept: readonly Acceptance[], runs: readonly RunEvaluation[]): RunEvaluation[] {
  if (accept.length === 0) return [...runs];
  return runs.map((run) => ({
    ...run,
    checks: run.checks.map((check) => {
      const because = accept.find((entry) => isAbout(entry, run.id, check) && isAsAccepted(entry, check))?.because;
      return because === undefined ? check : { ...check, accepted_because: because };
    }),
  }));
}

/** Whether an acceptance means this finding, whatever its figures. */
export function isAbout({ check: code, runs }: Acceptance, run: string, check: RunCheck): boolean {
  return check.code === code && check.severity === "doubt" && (runs === "all" || runs.includes(run));
}

export function isAsAccepted({ evidence }: Acceptance, check: RunCheck): boolean {
  const names = Object.keys(evidence);
  return names.length > 0 && names.every((name) => isNear(name, evidence, check.evidence[name]));
}

function isNear(
  name: string,
  accepted: Acceptance["evidence"],
  found: RunCheck["evidence"][string] | undefined,
): boolean {
  const wanted = accepted[name]!;
  if (typeof wanted === "string") return String(found) === wanted;
  if (typeof found !== "number") return false;
  const alike = Object.entries(accepted).flatMap(([other, value]) =>
    unitOf(other) === unitOf(name) && typeof value !== "string" ? value.map(Math.abs) : [],
  );
  const slack = tolerance * Math.max(...alike);
  return found >= wanted[0] - slack && found <= wanted[1] + slack;
}

function unitOf(name: string): string {
  return name.slice(name.lastIndexOf("_") + 1);
}

/** The figures of some findings as an acceptance would name them: "{ off_x_m: [0.301, 0.33], off_y_m: 0.02 }". */
export function evidenceText(checks: readonly RunCheck[]): string {
  const names = Object.keys(checks[0]?.evidence ?? {});
  const numbers = names.filter((name) => checks.every(({ evidence }) => typeof evidence[name] === "number"));
  const telling = numbers.filter((name) => sized.test(name) && !dated.test(name));
  const chosen = telling.length > 0 ? telling : numbers;
  const parts = (chosen.length > 0 ? chosen : names).slice(0, 6).map((name) => {
    const values = checks.map(({ evidence }) => evidence[name]);
    if (!numbers.includes(name)) return `${name}: ${JSON.stringify(String(values[0]))}`;
    const [least, most] = [Math.min(...(values as number[])), Math.max(...(values as number[]))].map(short);
    return `${name}: ${least === most ? least : `[${least}, ${most}]`}`;
  });
  return `{ ${parts.join(", ")} }`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
