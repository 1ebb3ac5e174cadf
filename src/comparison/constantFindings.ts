import type { Campaign } from "../contract/campaign.ts";
import type { CellConstant, ConstantRole } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, type Subject } from "../foundation/signals.ts";
import { placeWords } from "../words/places.ts";
import { familyPlaces } from "./cellPlaces.ts";
import { type CellPlace, cellRuns } from "./cellRuns.ts";
import { constantOffset } from "./constantOffset.ts";
import { judgeFamily } from "./judgeFamily.ts";
import { runValues } from "./runValues.ts";
import { verdictLimits } from "./verdictLimits.ts";

/**
 * `constant-offset`, for the runs of each cell of the family in which a constant offset carries most of the mean square (a note), or
 * could have made the verdict or hidden another (a doubt). The same for all runs of the cell: it is found in all of them
 * together. None where another measure than the rms is the primary one, which knows of no offset.
 *
 * @param runs  those with `used` count
 * @returns by run id
 */
export function constantFindings(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: Settings,
): Map<string, Check[]> {
  const used = runs.filter((run) => run.used);
  const places = familyPlaces(campaign);
  const found = places.map((place) => cellRuns(campaign, used, place));
  const judged = judgeFamily(
    places.map((place, i) => ({
      runs: runValues(found[i]!.map((run) => ({ ...run, candidate: run.configuration === campaign.candidate }))),
      margin: campaign.smallestDifference[place.subject],
    })),
    verdictLimits(settings),
  );
  const checks = new Map<string, Check[]>();
  for (const [i, place] of places.entries()) {
    const margin = campaign.smallestDifference[place.subject];
    const constant = constantOffset(campaign, used, place, judged[i]!, margin, settings);
    const check = constant === null ? null : constantCheck(place, constant, settings);
    if (check !== null) for (const { id } of found[i]!) checks.set(id, [...(checks.get(id) ?? []), check]);
  }
  return checks;
}

function constantCheck(place: CellPlace, constant: CellConstant, settings: Settings): Check | null {
  const { trajectory, subject, axis } = place;
  const { role, share, common, step, block_step, sd } = constant;
  const doubted = role !== null && role !== "adds";
  if (!doubted && share <= settings.constant_share) return null;
  return {
    code: "constant-offset",
    severity: doubted ? "doubt" : "note",
    message: `${trajectory}, ${placeWords(subject, [axis], "world")}: ${constantWords(constant, doubted ? role : "carries")}`,
    evidence: {
      trajectory,
      subject,
      axis,
      share,
      offset_m: common,
      step_m: step,
      block_step_m: block_step,
      sd_difference_m: sd?.difference ?? null,
      sd_p: sd?.p ?? null,
    },
    hint: `${wrongFrames(subject)}; where it was truly flown so (no integrator, an uneven load), take it as it is (accept in the manifest), or judge the spread (primary: sd)`,
    touches: { subjects: [subject], axes: axis === "norm" ? axes : [axis] },
  };
}

/** Keys of the manifest that move all of a subject's errors alike. */
function wrongFrames(subject: Subject): string {
  const capture = "`frames: onboard` (per block where the origin was set again)";
  if (subject === "vehicle") return `check ${capture} and \`body_point\`, and whether a marker slipped`;
  return `check \`tool_point\`, \`arm_base\`, ${subject === "arm" ? "" : `${capture}, the setpoint's yaw, `}and whether a marker slipped`;
}

/** What the offset is to the verdict, as part of a sentence. */
export function constantWords({ share, common, step, sd }: CellConstant, role: ConstantRole | "carries"): string {
  const spread =
    sd === null ? "" : `${millimetres(sd.difference)} mm${sd.p === null ? "" : ` (p ${probability(sd.p)})`}`;
  const offset = `a constant offset of ${Math.abs(1e3 * common).toFixed(1)} mm`;
  switch (role) {
    case "explains":
      return `the difference is one of constant offset, not of steadiness: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "drowns":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square, so that the rms hardly knows of the spread about it, which differs by ${spread}`;
    case "hides":
      return `the spread about the mean error differs by ${spread}, which the rms does not show beside an offset that steps by ${millimetres(step)} mm with the configuration`;
    case "adds":
      return `most of the difference is one of constant offset: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "carries":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square; the spread about it differs by ${spread}`;
  }
}

function millimetres(metres: number): string {
  const value = 1e3 * metres;
  return `${value < 0 ? "" : "+"}${value.toFixed(1)}`;
}

function probability(p: number): string {
  return p < 0.001 ? "below 0.001" : p.toPrecision(2);
}
