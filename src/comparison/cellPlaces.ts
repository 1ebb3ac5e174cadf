import type { JudgedIn } from "../catalogue/axes.ts";
import { measureAxes, measureIds, measureOf } from "../catalogue/measures.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Subject } from "../foundation/signals.ts";
import type { CellPlace } from "./cellRuns.ts";

/**
 * The declared family: the cells that the manifest names (`family`); where it names none, the primary measure over trajectories x {vehicle, effector} x {x, y, z}, or without the axes where the
 * measure has one number over all of them. It follows from the manifest alone, never from what was flown or found; a
 * trajectory that no one flew is in it.
 *
 * A hold has no cycles, so nothing synchronous to compare: with that primary measure it is no member.
 */
export function familyPlaces(campaign: Campaign): CellPlace[] {
  return places(campaign, hasEffector(campaign) ? ["vehicle", "effector"] : ["vehicle"]).filter((place) =>
    isDeclared(campaign, place),
  );
}

function isDeclared({ primary, family }: Campaign, { metric, trajectory, subject, axis }: CellPlace): boolean {
  if (metric !== primary || subject === "arm") return false;
  return (
    family === undefined ||
    family.some(
      (one) =>
        one.trajectory === trajectory &&
        one.subject === subject &&
        (one.axes === null || axis === "norm" || one.axes.includes(axis)),
    )
  );
}

/** All else that can be compared: the other measures, the arm, and what a declared family leaves out. Shown, without a verdict. */
export function exploratoryPlaces(campaign: Campaign): CellPlace[] {
  const subjects: Subject[] = hasEffector(campaign) ? ["vehicle", "effector", "arm"] : ["vehicle"];
  return places(campaign, subjects).filter((place) => !isDeclared(campaign, place));
}

function hasEffector(campaign: Campaign): boolean {
  return campaign.signals.effector_pose !== undefined && campaign.signals.effector_command !== undefined;
}

function places(campaign: Campaign, subjects: readonly Subject[]): CellPlace[] {
  return Object.entries(campaign.trajectories).flatMap(([trajectory, { shape }]) =>
    measureIds
      .filter((metric) => measureOf(metric).windows.includes(shape === "hold" ? "hold" : "cycles"))
      .flatMap((metric) =>
        subjects
          .filter((subject) => measureOf(metric).subjects.includes(subject))
          .flatMap((subject) => measureAxes(metric).map((axis) => ({ trajectory, subject, axis, metric }))),
      ),
  );
}

/** In which axes each place is judged: those of the heading where it was taken out of the trajectory's runs; the arm's own are the vehicle's. */
export function judgedPlaces(
  runs: readonly Pick<RunEvaluation, "trajectory" | "heading">[],
): (place: Pick<CellPlace, "subject" | "trajectory">) => JudgedIn {
  const turned = new Set(runs.filter(({ heading }) => heading?.taken_out != null).map(({ trajectory }) => trajectory));
  return ({ subject, trajectory }) => (subject === "arm" ? "vehicle" : turned.has(trajectory) ? "heading" : "world");
}
