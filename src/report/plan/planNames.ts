import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { FlightDay } from "../../contract/plan.ts";
import type { JudgedTrajectories } from "../../words/places.ts";

/** What a reader of a plan is told beside its figures. */
export interface PlanNames {
  readonly title: string;
  /** trajectories in words, by name */
  readonly trajectories: Readonly<Record<string, string>>;
  /** label of the sham that the campaign declares; null where it declares none */
  readonly sham: string | null;
  /** axes in which the errors are judged, by trajectory */
  readonly judged: JudgedTrajectories;
}

/** The names of an evaluated campaign. */
export function planNames({ title, settings }: Pick<CampaignEvaluation, "title" | "settings">): PlanNames {
  const { sham, configurations, trajectories, judged_in: judged } = settings;
  return { title, trajectories, sham: sham === null ? null : (configurations[sham]?.label ?? sham), judged };
}

/** A trajectory's name, with its description where there is one. */
export function trajectoryInWords(name: string, { trajectories }: Pick<PlanNames, "trajectories">): string {
  const words = Object.hasOwn(trajectories, name) ? trajectories[name]! : "";
  return words === "" ? name : `${name}: ${words}`;
}

/** The label of a configuration of the day. */
export function labelOf(name: string, { configurations }: Pick<FlightDay, "configurations">): string {
  return configurations.find((one) => one.name === name)?.label ?? name;
}
