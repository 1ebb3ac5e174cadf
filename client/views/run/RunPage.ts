import type { JudgedIn } from "../../../src/catalogue/axes.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { RunAnswer } from "../../../src/contract/api/runAnswers.ts";
import type { Subject } from "../../../src/foundation/signals.ts";
import type { AxisNames } from "../../../src/words/places.ts";
import type { Tone } from "../../figures/tone.ts";

/** What every part of a run's page is drawn from. */
export interface RunPage {
  readonly campaign: CampaignView;
  readonly run: RunAnswer["run"];
  readonly decision: RunAnswer["decision"];
  readonly subject: Subject;
  readonly trajectory: CampaignView["trajectories"][number] | null;
  readonly configuration: CampaignView["configurations"][number] | null;
  readonly tone: Tone;
}

/** Gathers them. */
export function runPage(campaign: CampaignView, { run, decision }: RunAnswer, subject: Subject): RunPage {
  const configuration = campaign.configurations.find(({ name }) => name === run.configuration) ?? null;
  return {
    campaign,
    run,
    decision,
    subject,
    trajectory: campaign.trajectories.find(({ name }) => name === run.trajectory) ?? null,
    configuration,
    tone: configuration?.role ?? "other",
  };
}

/** "vehicle", "end effector" ...: what is judged, as a sentence names it. */
export const subjectWords: Readonly<Record<Subject, string>> = {
  vehicle: "vehicle",
  effector: "end effector",
  arm: "arm",
};

/** What the axes of a frame are called: the manifest names those of the world. */
export function axisNamesIn({ campaign }: Pick<RunPage, "campaign">, frame: JudgedIn): AxisNames {
  return frame === "world" ? campaign.axis_names : {};
}

/** Where positions and errors of a subject stand, for captions. */
export function frameWords(frame: JudgedIn): string {
  if (frame === "heading") return "the run's heading (x forward, y left, z up)";
  return frame === "vehicle" ? "the measured vehicle frame" : "the world frame";
}
