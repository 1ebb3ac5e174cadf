import { subjectsResting } from "../catalogue/checks.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type SignalName, subjects } from "../foundation/tracks.ts";
import { median } from "../numeric/descriptive.ts";
import { stepsOfArm } from "./armSteps.ts";
import type { MeasuredRun } from "./measureOne.ts";
import { isClear, labels, stepOf } from "./stepOf.ts";

/**
 * What no weight on an arm can change, and yet steps with the configuration: the offset of a clock, as the motion shows it; the
 * distance of a signal's stamps from its receipt; the size that the capture gives things, and the way it turns them. Whatever the
 * reason (a filter on the gyro that joins the clocks, another node's stamps, another calibration), errors of the two configurations
 * then differ by it.
 *
 * Each figure is fitted within blocks by configuration, clocks by a steady drift over the day too; a step has to be clear of the
 * scatter that like runs show (Student's t).
 *
 * @param runs  the runs that count
 * @returns by run id
 */
export function stepsWithConfiguration(
  campaign: Campaign,
  runs: readonly MeasuredRun[],
  settings: Settings,
): Map<string, Check[]> {
  const compared = runs.filter(({ declaration: { configuration } }) =>
    [campaign.baseline, campaign.candidate].includes(configuration),
  );
  const ofClocks = [...clocks(campaign, compared, settings), ...receipts(campaign, compared, settings)];
  const trajectories = new Set(compared.map(({ declaration: { trajectory } }) => trajectory));
  // the arm rests and moves otherwise on another trajectory
  return new Map(
    [...trajectories].flatMap((trajectory) => {
      const flown = compared.filter(({ declaration }) => declaration.trajectory === trajectory);
      const checks = [...ofClocks, ...stepsOfArm(campaign, flown, settings)];
      return flown.map(({ declaration: { id } }) => [id, checks] as const);
    }),
  );
}

const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);

/** A clock that rests rests for the vehicle too, unless its setpoint moves. */
function movedBy(
  runs: readonly MeasuredRun[],
  resting: readonly (typeof subjects)[number][],
): NonNullable<Check["touches"]> {
  const moves = runs.some(({ measures }) => measures.tracking.cycles?.vehicle?.delay != null);
  return { subjects: resting.filter((subject) => moves || subject !== "vehicle") };
}

function clocks(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] {
  return Object.entries(campaign.clocks.others).flatMap(([name, rule]): Check[] => {
    if (rule.kind !== "same-motion") return [];
    const figures = runs.flatMap((run) => {
      const { offset } = run.clocks[name] ?? {};
      return offset === undefined ? [] : [{ run, value: offset }];
    });
    const step = stepOf(campaign, figures, true);
    if (!isClear(step, settings.clock_step, settings)) return [];
    const [candidate, baseline] = labels(campaign);
    return [
      {
        code: "clock-apart",
        severity: "doubt",
        message: `the offset of clock ${name}, as ${rule.pair.join(" and ")} show it, is ${step.size > 0 ? "larger" : "smaller"} by ${milliseconds(Math.abs(step.size))} ms (standard error ${milliseconds(step.standardError)} ms) in the runs of ${candidate} than in those of ${baseline} flown around them: no clock knows what is flown, so one of the two sights was delayed or filtered otherwise`,
        evidence: { clock: name, step_s: step.size, step_se_s: step.standardError, p: step.p },
        hint: `look at the filters of ${rule.pair[1]} and of the capture in both configurations, and at what stamps them; log both alike in all runs`,
        touches: movedBy(runs, subjects),
      },
    ];
  });
}

/** Of the steps of one clock's signals, those below this share of the largest are its shadow in the middle of the others. */
const shadow = 0.75;

/** Stamps against receipt, of each signal beside the others of its clock: what a host is off by, all of its signals are. */
function receipts(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Check[] {
  const names = Object.keys(campaign.signals) as SignalName[];
  const clockOf = (name: SignalName): string => campaign.signals[name]?.clock ?? "";
  const found = names.flatMap((name) => {
    const beside = names.filter((other) => other !== name && clockOf(other) === clockOf(name));
    const figures = runs.flatMap((run) => {
      const own = run.stampMinusReceipt[name];
      const others = beside.map((other) => run.stampMinusReceipt[other]).filter((value) => value !== undefined);
      if (own === undefined || others.length === 0) return [];
      return [{ run, value: own - median(Float64Array.from(others)) }];
    });
    const step = stepOf(campaign, figures, false);
    return isClear(step, settings.clock_step, settings) ? [{ name, beside, step }] : [];
  });
  const [candidate, baseline] = labels(campaign);
  return found
    .filter(({ name, step }) =>
      found.every(
        (other) => clockOf(other.name) !== clockOf(name) || Math.abs(step.size) > shadow * Math.abs(other.step.size),
      ),
    )
    .map(
      ({ name, beside, step }): Check => ({
        code: "clock-apart",
        severity: "doubt",
        message: `${name}: its stamps lie ${milliseconds(Math.abs(step.size))} ms (standard error ${milliseconds(step.standardError)} ms) ${step.size > 0 ? "later" : "earlier"} against the time of receipt, beside those of ${beside.join(", ")}, in the runs of ${candidate} than in those of ${baseline}: it was stamped otherwise, or held up`,
        evidence: { signal: name, step_s: step.size, step_se_s: step.standardError, p: step.p },
        hint: "look at what stamps this signal in both configurations: another node, another host, a stamp taken before or after the work",
        touches: movedBy(runs, subjectsResting(name)),
      }),
    );
}
