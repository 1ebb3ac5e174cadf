import { measureIds } from "../../src/catalogue/measures.ts";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { Campaign, Trajectory } from "../../src/contract/campaign.ts";
import { type CampaignEvaluation, familySizeOf, pairsOf, type RunEvaluation } from "../../src/contract/evaluation.ts";
import { type Subject, subjects } from "../../src/foundation/tracks.ts";
import { describeTrajectory } from "../../src/pipeline/settingsOf.ts";
import { answerSentences } from "../../src/report/answerSentence.ts";
import { costSentence } from "../../src/report/costSentences.ts";
import type { Judged } from "../Service.ts";
import { noiseOf } from "./powerCurve.ts";
import { flownOrder } from "./runRows.ts";

/** What the first screen shows beside the cells. */
export function campaignView({ campaign, evaluation }: Judged, manifestName: string): CampaignView {
  const { settings, cells } = evaluation;
  return {
    ...viewOfSettings(evaluation, campaign, manifestName),
    blind: false,
    answer: pairsOf(evaluation).flatMap(answerSentences),
    configurations: Object.entries(settings.configurations).map(([name, configuration]) => {
      const runs = evaluation.runs.filter((run) => run.configuration === name);
      return {
        name,
        role: roleOf(campaign, name),
        ...configuration,
        runs: runs.length,
        used: runs.filter(({ used }) => used).length,
      };
    }),
    subjects: subjectsOf(evaluation),
    metrics: measureIds.filter((metric) => cells.some((cell) => cell.metric === metric)),
    family: familySizeOf(evaluation),
    looks: evaluation.looks,
    costs: evaluation.costs === null ? null : costSentence(evaluation),
  };
}

/** The part that rests on settings and noise alone, and is the same before the answer is seen. */
export function viewOfSettings(
  made: Pick<CampaignEvaluation, "title" | "tool" | "settings" | "fitted" | "noise"> & {
    readonly runs: readonly Pick<RunEvaluation, "block" | "started">[];
  },
  campaign: Campaign,
  manifestName: string,
): Omit<CampaignView, "blind" | "answer" | "configurations" | "subjects" | "metrics" | "family" | "looks" | "costs"> {
  const { settings, noise } = made;
  const noiseAxes = (subject: Subject): { x: number | null; y: number | null; z: number | null } => ({
    x: noiseOf(made, subject, "x"),
    y: noiseOf(made, subject, "y"),
    z: noiseOf(made, subject, "z"),
  });
  return {
    title: made.title,
    manifest: manifestName,
    tool: made.tool,
    baseline: settings.baseline,
    candidate: settings.candidate,
    sham: settings.sham,
    trajectories: Object.entries(campaign.trajectories).map(trajectoryView),
    blocks: blocksOf(made),
    primary: settings.primary,
    family_declared: settings.family !== undefined,
    smallest_difference: settings.smallest_difference,
    thresholds: settings.thresholds,
    truth: settings.truth,
    axis_names: settings.axis_names,
    signals: settings.signals,
    judged_in: settings.judged_in,
    common_cycles: settings.common_cycles,
    common_hold: settings.common_hold,
    bench: campaign.bench !== undefined,
    fitted: made.fitted,
    noise:
      noise === null
        ? null
        : {
            source: noise.source,
            vehicle: noiseAxes("vehicle"),
            effector: noiseAxes("effector"),
            arm: noiseAxes("arm"),
          },
  };
}

/** What a configuration is to the comparison. */
export function roleOf(
  { baseline, candidate, sham }: Pick<Campaign, "baseline" | "candidate" | "sham">,
  configuration: string,
): "baseline" | "candidate" | "sham" | "other" {
  if (configuration === baseline) return "baseline";
  if (configuration === candidate) return "candidate";
  return configuration === sham ? "sham" : "other";
}

function trajectoryView([name, trajectory]: [string, Trajectory]): CampaignView["trajectories"][number] {
  const { shape } = trajectory;
  return {
    name,
    text: describeTrajectory(trajectory),
    shape,
    plane: shape === "circle" ? trajectory.plane : null,
    axis: shape === "line" ? trajectory.axis : null,
    radius: shape === "circle" ? trajectory.radius : null,
    stroke: shape === "line" ? trajectory.stroke : null,
    period: shape === "hold" ? null : trajectory.period,
    cycles: shape === "circle" || shape === "line" ? trajectory.cycles : null,
    duration: shape === "hold" ? trajectory.duration : null,
  };
}

/** Subjects of which something was measured, or that have cells. */
function subjectsOf({ runs, cells }: CampaignEvaluation): Subject[] {
  return subjects.filter(
    (subject) =>
      cells.some((cell) => cell.subject === subject) ||
      runs.some(({ tracking }) => tracking.cycles?.[subject] !== undefined || tracking.hold?.[subject] !== undefined),
  );
}

function blocksOf({ runs }: { readonly runs: readonly Pick<RunEvaluation, "block" | "started">[] }): string[] {
  const order = flownOrder(runs);
  const flown = [...runs.keys()].sort((a, b) => order[a]! - order[b]!).map((k) => runs[k]!.block);
  return [...new Set(flown.filter((block) => block !== null))];
}
