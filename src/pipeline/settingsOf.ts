import type { Campaign, Trajectory } from "../contract/campaign.ts";
import { originOf } from "../contract/campaignParts.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { SignalName } from "../foundation/tracks.ts";
import type { CommonLengths } from "./commonLength.ts";
import type { JudgedAxes } from "./judgedAxes.ts";
import type { MeasuredRun } from "./measureOne.ts";

/**
 * The part `settings` of an evaluation: thresholds, what was declared, and what was chosen from the data, with the runs where
 * the choice differs.
 */
export function settingsOf(
  campaign: Campaign,
  measured: readonly MeasuredRun[],
  common: CommonLengths,
  judged: JudgedAxes,
  settings: Settings,
): CampaignEvaluation["settings"] {
  const signals: Record<string, Record<string, string>> = {};
  for (const [name, source] of Object.entries(campaign.signals)) {
    signals[name] = {
      // what is no topic has no name of its own: the columns or markers stand for it
      [source.topic === null ? "origin" : "topic"]: originOf(source),
      ...(source.log === null ? {} : { log: source.log }),
      clock: source.clock,
      ...(source.axes === null ? {} : { axes: `world ${source.axes.world}, body ${source.axes.body}` }),
      ...(source.units === null
        ? {}
        : {
            units: Object.entries(source.units)
              .map((pair) => pair.join(" "))
              .join(", "),
          }),
      ...(name === "effector_command" ? { frame: source.frame } : {}),
      ...(source.between === null ? {} : { between: source.between }),
    };
  }
  const choices = new Map<string, Map<string, string[]>>();
  for (const run of measured) {
    for (const [key, value] of Object.entries(run.choices)) {
      const byValue = choices.get(key) ?? new Map<string, string[]>();
      byValue.set(value, [...(byValue.get(value) ?? []), run.declaration.id]);
      choices.set(key, byValue);
    }
  }
  for (const [key, byValue] of choices) {
    const [signal, field] = key.split(".") as [string, string];
    const words =
      byValue.size === 1
        ? [...byValue.keys()][0]!
        : [...byValue].map(([value, runs]) => `${value} (${runs.join(", ")})`).join("; ");
    signals[signal] = { ...signals[signal], [field]: words };
  }
  const topic = (name: SignalName): string | null => {
    const source = campaign.signals[name];
    return source === undefined ? null : originOf(source);
  };
  return {
    thresholds: { ...settings },
    primary: campaign.primary,
    tolerance: campaign.tolerance,
    baseline: campaign.baseline,
    candidate: campaign.candidate,
    sham: campaign.sham,
    ...(campaign.family === undefined
      ? {}
      : { family: campaign.family.map(({ axes, ...cell }) => ({ ...cell, axes: axes === null ? null : [...axes] })) }),
    smallest_difference: { ...campaign.smallestDifference },
    configurations: Object.fromEntries(
      Object.entries(campaign.configurations).map(([name, { label, addedMass, counterweights }]) => [
        name,
        {
          label,
          added_mass: addedMass,
          counterweights: counterweights.map(({ mass, at }) => ({ mass, at: [...at] as [number, number, number] })),
        },
      ]),
    ),
    trajectories: Object.fromEntries(
      Object.entries(campaign.trajectories).map(([name, trajectory]) => [name, describeTrajectory(trajectory)]),
    ),
    judged_in: judged,
    axis_names: { ...campaign.axisNames },
    truth: { vehicle: topic("vehicle_pose") ?? "motion capture", effector: topic("effector_pose") },
    signals,
    common_cycles: common.cycles,
    common_hold: common.hold,
  };
}

/** A declared trajectory in words, millimetres and seconds. */
export function describeTrajectory(trajectory: Trajectory): string {
  const mm = (metres: number): string => `${Number((1e3 * metres).toFixed(2))} mm`;
  switch (trajectory.shape) {
    case "circle":
      return `circle in ${trajectory.plane}, radius ${mm(trajectory.radius)}, period ${trajectory.period.toFixed(3)} s, ${trajectory.cycles} cycles`;
    case "line":
      return `line along ${trajectory.axis}, stroke ${mm(trajectory.stroke)}, period ${trajectory.period.toFixed(3)} s, ${trajectory.cycles} cycles`;
    case "hold":
      return `hold for ${trajectory.duration} s`;
    case "logged":
      return trajectory.period === null ? "as logged" : `as logged, period ${trajectory.period.toFixed(3)} s`;
  }
}
