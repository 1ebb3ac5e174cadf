import type { JudgedIn } from "../catalogue/measures.ts";
import type { Campaign } from "../contract/campaign.ts";
import { contrastsOf } from "../contract/campaignParts.ts";
import type { CellConstant } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, type Subject } from "../foundation/tracks.ts";
import { constantWords } from "../words/findingWords.ts";
import { placeWords } from "../words/places.ts";
import { type CellPlace, cellRuns, familyPlaces, judgedPlaces, runValues } from "./cellRuns.ts";
import { constantOffset } from "./constantOffset.ts";
import { verdictLimits } from "./decideVerdict.ts";
import { judgeFamily } from "./judgeFamily.ts";

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
  // this pair's come first
  const judged = judgeFamily(
    contrastsOf(campaign).flatMap((pair) =>
      places.map((place) => ({
        runs: runValues(
          cellRuns(pair, used, place).map((run) => ({ ...run, candidate: run.configuration === pair.candidate })),
        ),
        margin: campaign.smallestDifference[place.subject],
      })),
    ),
    verdictLimits(settings),
  );
  const axesOf = judgedPlaces(used);
  const constants = places.map((place, i) =>
    constantOffset(campaign, used, place, judged[i]!, campaign.smallestDifference[place.subject], settings),
  );
  const isDoubted = places.map((place, i) => misleads(constants[i]!) || isMovedBeside(place, i));
  /** A point that moved along one axis seldom moved along it alone: what it does along another needs no certainty of its own. */
  function isMovedBeside({ trajectory, subject }: CellPlace, i: number): boolean {
    const [constant, estimate] = [constants[i]!, judged[i]!.test.estimate];
    const margin = campaign.smallestDifference[subject];
    if (constant === null || constant.role === "adds" || constant.sd === null) return false;
    if (estimate === null || margin === null) return false;
    if (Math.abs(constant.sd.difference - estimate.difference) <= margin) return false;
    return places.some(
      (other, k) => other.trajectory === trajectory && other.subject === subject && constants[k]?.role === "explains",
    );
  }
  const checks = new Map<string, Check[]>();
  for (const [i, place] of places.entries()) {
    const [constant, doubted] = [constants[i]!, isDoubted[i]!];
    const check = constant === null ? null : constantCheck(place, axesOf(place), { constant, doubted }, settings);
    if (check !== null) for (const { id } of found[i]!) checks.set(id, [...(checks.get(id) ?? []), check]);
  }
  return checks;
}

/** Whether an offset could have made the verdict, or hidden another. */
const misleads = (constant: CellConstant | null): boolean =>
  constant !== null && constant.role !== null && constant.role !== "adds";

function constantCheck(
  place: CellPlace,
  judgedIn: JudgedIn,
  { constant, doubted }: { readonly constant: CellConstant; readonly doubted: boolean },
  settings: Settings,
): Check | null {
  const { trajectory, subject, axis } = place;
  const { share, common, step, block_step, sd } = constant;
  // beside an axis along which the point moved, the rms is not what the spread says
  const role = misleads(constant) ? constant.role! : "hides";
  if (!doubted && share <= settings.constant_share) return null;
  return {
    code: "constant-offset",
    severity: doubted ? "doubt" : "note",
    message: `${trajectory}, ${placeWords(subject, [axis], judgedIn)}: ${constantWords(constant, doubted ? role : "carries")}`,
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
