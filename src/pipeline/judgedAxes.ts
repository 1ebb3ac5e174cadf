import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { angleApart } from "../numeric/quaternion.ts";
import type { MeasuredRun } from "./measureOne.ts";

/** Per trajectory: the axes its errors are judged in, and by how much the headings of its runs differ. */
export type JudgedAxes = CampaignEvaluation["settings"]["judged_in"];

/**
 * The axes in which the errors of each trajectory are judged. Counterweights act in body axes: where the manifest says nothing,
 * runs that face different ways are judged forward, left and up; runs that face the same way along the world's axes.
 *
 * Over all runs that count or could be put back, so that a person's word on one of them does not change the axes.
 */
export function judgedAxes(campaign: Campaign, measured: readonly MeasuredRun[], settings: Settings): JudgedAxes {
  const judged: JudgedAxes = {};
  for (const trajectory of Object.keys(campaign.trajectories)) {
    const yaws = measured
      .filter(({ declaration }) => declaration.trajectory === trajectory && declaration.outcome === "completed")
      .filter(({ checks }) => checks.every(({ severity }) => severity !== "unusable"))
      .flatMap(({ heading }) => heading?.yaw ?? []);
    const apart = yaws.length === 0 ? null : widest(yaws);
    const usual = apart !== null && apart > settings.headings_apart ? "heading" : "world";
    judged[trajectory] = { axes: campaign.judgeIn ?? usual, apart, declared: campaign.judgeIn !== null };
  }
  return judged;
}

/** Largest angle between any two directions, radians. */
function widest(yaws: readonly number[]): number {
  let apart = 0;
  for (const a of yaws) for (const b of yaws) apart = Math.max(apart, angleApart(a, b));
  return apart;
}

/** Which runs stand in other axes than those they are judged in, and have a heading to be turned to. */
export function inOtherAxes({ declaration, heading, judgedIn }: MeasuredRun, judged: JudgedAxes): boolean {
  return heading !== null && judgedIn !== judged[declaration.trajectory]!.axes;
}

/**
 * `heading-apart`: the horizontal axes of a run are not those of the others. Either all are judged along the room's axes, as the
 * manifest asks, though they face different ways; or this one has no heading to be judged in.
 */
export function headingCheck(
  { declaration, heading, judgedIn }: MeasuredRun,
  judged: JudgedAxes,
  settings: Settings,
): Check[] {
  const { axes, apart } = judged[declaration.trajectory]!;
  const degrees = Math.round(((apart ?? 0) * 180) / Math.PI);
  const check = (message: string, hint: string): Check => ({
    code: "heading-apart",
    severity: "doubt",
    message,
    evidence: { headings_apart_rad: apart, heading_rad: heading?.yaw ?? null, source: heading?.source ?? null },
    hint,
  });
  if (axes === "heading" && judgedIn === "world")
    return [
      check(
        "errors are judged forward, left and up, but which way the vehicle faces is not known in this run, or changes all through it: its errors stand along the room's axes",
        "log a setpoint with its yaw, or the vehicle's attitude; or say `judge_in: world`",
      ),
    ];
  if (axes === "heading" || apart === null || apart <= settings.headings_apart) return [];
  return [
    check(
      `the runs of this trajectory face ways up to ${degrees} degrees apart, and \`judge_in: world\` judges them along the room's axes: what counterweights do along the vehicle's own axes is mixed along x and y`,
      "leave `judge_in` out, so that errors are judged forward, left and up; where the question is about the room (a wall, a fan), `accept` the finding",
    ),
  ];
}
