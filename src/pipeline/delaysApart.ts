import type { Campaign } from "../contract/campaign.ts";
import { contrastsOf } from "../contract/campaignParts.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes, type SignalName, type Subject, subjects } from "../foundation/tracks.ts";
import { mean, median } from "../numeric/descriptive.ts";
import { studentTCdf } from "../numeric/studentT.ts";
import type { MeasuredRun } from "./measureOne.ts";

/** A run with the delay by which its clock is judged. */
interface Delayed {
  readonly run: MeasuredRun;
  readonly delay: number;
}

/** The arm's delay knows neither the vehicle's mass nor the air; the others' do. */
const judgedBy: readonly Subject[] = ["arm", "effector", "vehicle"];

/**
 * `delay-apart`: response delays that differ between configurations or blocks, or in single runs, by more than like runs
 * scatter. A clock that is off by some milliseconds in some runs looks just like that, and moves their errors.
 *
 * Where gyro or estimate confirm the clock in the runs concerned it is a finding and no doubt, up to `delay_apart_confirmed`: the
 * delay itself differs (mass and air change the vehicle's). Of the arm's that is not to be told from commands that are stamped
 * otherwise where no receipt shows how they are: it is a doubt then as far as the comparison rests on it.
 *
 * Levels are set against each other within what they share of the other grouping, by Student's t with the scatter pooled
 * within configuration and block; single runs against the median of their configuration, in median absolute deviations.
 *
 * @param runs  the runs that count
 * @returns by run id
 */
export function delaysApart(
  campaign: Campaign,
  runs: readonly MeasuredRun[],
  settings: Settings,
): Map<string, Check[]> {
  const found = new Map<string, Check[]>();
  for (const trajectory of Object.keys(campaign.trajectories)) {
    const flown = runs.filter((run) => run.declaration.trajectory === trajectory);
    const subject = judgedBy.find((each) => delaysOf(flown, each).length > 0.9 * flown.length);
    if (subject === undefined) continue;
    const delayed = delaysOf(flown, subject);
    const setpointMoves = delaysOf(flown, "vehicle").length > 0;
    const limit = subject === "arm" ? settings.delay_apart : 2 * settings.delay_apart;
    const levels = [
      ...contrasts(delayed, configurationOf, blockOf, limit, settings),
      ...contrasts(delayed, blockOf, configurationOf, limit, settings),
    ];
    const small = levels.length > 0 || subject !== "arm" ? [] : smallSteps(campaign, delayed, settings);
    const apart = [levels, small, strayRuns(delayed, limit)].find((each) => each.length > 0) ?? [];
    for (const each of apart) {
      const check = describe(campaign, subject, each, setpointMoves, settings);
      for (const { run } of each.runs) {
        const { id } = run.declaration;
        found.set(id, [...(found.get(id) ?? []), check]);
      }
    }
  }
  return found;
}

/** Of the arm, between configurations: too small to be called another delay, large enough to make a difference that matters. */
function smallSteps(campaign: Campaign, delayed: readonly Delayed[], settings: Settings): Apart[] {
  return contrasts(delayed, configurationOf, blockOf, settings.arm_delay_apart, settings).filter(
    ({ runs }) => !isStampShown(campaign, runs) && movedByDelay(campaign, runs, settings).length > 0,
  );
}

const configurationOf = (run: MeasuredRun): string => run.declaration.configuration;
const blockOf = (run: MeasuredRun): string => run.declaration.block ?? "no block";

function delaysOf(runs: readonly MeasuredRun[], subject: Subject): Delayed[] {
  return runs.flatMap((run) => {
    const delay = run.measures.tracking.cycles?.[subject]?.delay;
    return delay == null ? [] : [{ run, delay }];
  });
}

/** Two sets of runs whose delays differ. */
interface Apart {
  readonly by: "configuration" | "block" | "run";
  readonly names: readonly [string, string];
  readonly delays: readonly [number, number];
  /** sd of like runs, seconds */
  readonly scatter: number;
  readonly runs: readonly Delayed[];
}

function contrasts(
  delayed: readonly Delayed[],
  levelOf: (run: MeasuredRun) => string,
  otherOf: (run: MeasuredRun) => string,
  limit: number,
  settings: Settings,
): Apart[] {
  const cellOf = ({ run }: Delayed): string => JSON.stringify([levelOf(run), otherOf(run)]);
  const cells = grouped(delayed, cellOf);
  let squares = 0;
  let freedom = 0;
  for (const cell of cells.values()) {
    const centre = mean(Float64Array.from(cell, ({ delay }) => delay));
    for (const { delay } of cell) squares += (delay - centre) ** 2;
    freedom += cell.length - 1;
  }
  if (freedom < 2) return [];
  const scatter = Math.sqrt(squares / freedom);
  const levels = [...grouped(delayed, ({ run }) => levelOf(run))];
  return levels.flatMap(([first, ours], i) =>
    levels.slice(i + 1).flatMap(([second, theirs]): Apart[] => {
      const shared = [...grouped(ours, ({ run }) => otherOf(run)).keys()].filter((other) =>
        theirs.some(({ run }) => otherOf(run) === other),
      );
      // within what both share; where they share nothing, as they are
      const strata =
        shared.length === 0 ? [() => true] : shared.map((other) => (run: MeasuredRun) => otherOf(run) === other);
      const parts = strata.map((within) =>
        [ours, theirs].map((side) => delaysIn(side.filter(({ run }) => within(run)))),
      );
      const difference = mean(Float64Array.from(parts, ([a, b]) => mean(a!) - mean(b!)));
      const error =
        (scatter / parts.length) * Math.sqrt(parts.reduce((sum, [a, b]) => sum + 1 / a!.length + 1 / b!.length, 0));
      if (!(Math.abs(difference) > limit)) return [];
      if (2 * studentTCdf(-Math.abs(difference) / error, freedom) > settings.delay_apart_p) return [];
      const by = levelOf === configurationOf ? "configuration" : "block";
      const delays = [mean(delaysIn(ours)), mean(delaysIn(theirs))] as const;
      return [{ by, names: [first, second], delays, scatter, runs: [...ours, ...theirs] }];
    }),
  );
}

const delaysIn = (runs: readonly Delayed[]): Float64Array => Float64Array.from(runs, ({ delay }) => delay);

function grouped(delayed: readonly Delayed[], keyOf: (one: Delayed) => string): Map<string, Delayed[]> {
  const groups = new Map<string, Delayed[]>();
  for (const one of delayed) {
    const key = keyOf(one);
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return groups;
}

/** Fewest runs of a configuration among which one may stray, and by how many robust standard deviations of theirs. */
const fewestRuns = 4;
const strays = 8;

function strayRuns(delayed: readonly Delayed[], limit: number): Apart[] {
  return [...grouped(delayed, ({ run }) => configurationOf(run)).values()].flatMap((runs) => {
    if (runs.length < fewestRuns) return [];
    const middle = median(delaysIn(runs));
    // 1.4826: of a normal distribution the median absolute deviation is sd / 1.4826
    const scatter = 1.4826 * median(delaysIn(runs).map((delay) => Math.abs(delay - middle)));
    return runs
      .filter(({ delay }) => Math.abs(delay - middle) > Math.max(limit, strays * scatter))
      .map((one) => ({
        by: "run" as const,
        names: [one.run.declaration.id, "other runs"] as const,
        delays: [one.delay, middle] as const,
        scatter,
        runs: [one],
      }));
  });
}

/** Whether gyro or estimate show, in this run, that the capture's clock and the commands' are the ones in force. */
function isClockShown(campaign: Campaign, { witness, checks }: MeasuredRun): boolean {
  if (witness === null || checks.some(({ code }) => code === "clock-apart")) return false;
  const command = campaign.signals.effector_command ?? campaign.signals.vehicle_setpoint;
  return campaign.signals[witness.pair[1]]?.clock === command?.clock;
}

function describe(
  campaign: Campaign,
  subject: Subject,
  apart: Apart,
  setpointMoves: boolean,
  settings: Settings,
): Check {
  const { by, names, delays, scatter, runs } = apart;
  const isShown = runs.every(({ run }) => isClockShown(campaign, run));
  const isOpen = by === "configuration" && subject === "arm" && !isStampShown(campaign, runs);
  const moved = isOpen ? movedByDelay(campaign, runs, settings) : [];
  const isLarge = Math.abs(delays[0] - delays[1]) > settings.delay_apart_confirmed || moved.length > 0;
  const label = (name: string): string =>
    by === "configuration" ? (campaign.configurations[name]?.label ?? name) : name;
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  const places =
    by === "run"
      ? [`in run ${names[0]}`, "in the other runs of its configuration"]
      : names.map((name) => `in ${by === "block" ? "block " : ""}${label(name)}`);
  const meaning =
    isShown && isLarge
      ? `gyro or estimate confirm the capture's clock, but not the stamps of the commands: ${moved.length === 0 ? "mass or servo seldom change a delay by so much" : `a delay that differs cannot be told from commands that are stamped otherwise, since no receipt shows their stamps, and it makes ${moved[0]!.words} of the difference`}`
      : isShown
        ? "gyro or estimate confirm the capture's clock, so mass, servo or controller changed the delay, or commands were made earlier or later than they are stamped, which nothing here tells apart"
        : "nothing confirms the clocks of all these runs, and a clock that is off in some of them looks just like that";
  return {
    code: "delay-apart",
    severity: isShown && !isLarge ? "note" : "doubt",
    message: `the ${subject} follows its commands ${milliseconds(delays[0])} ms late ${places[0]} and ${milliseconds(delays[1])} ms ${places[1]} (like runs scatter by ${milliseconds(scatter)} ms): ${meaning}`,
    evidence: {
      subject,
      by,
      first: names[0],
      second: names[1],
      first_delay_s: delays[0],
      second_delay_s: delays[1],
      scatter_s: scatter,
      clocks_confirmed: isShown,
    },
    hint:
      isShown && isLarge
        ? "look at where the commands are stamped in both sets of runs; where the delay itself did change, `accept` takes the finding as it is"
        : isShown
          ? "what the difference means for the errors is seen in `rms_delay_removed` beside the rms"
          : "log a gyro or an estimate in every run and let `same_motion` find the offset of the clocks; else look at how the capture's clock was set on each day",
    ...touchedBy(isShown ? moved : [], setpointMoves),
  };
}

/** Whether receipt shows how the command was stamped: `stepsWithConfiguration` then says where that changed. */
function isStampShown({ signals }: Campaign, runs: readonly Delayed[]): boolean {
  const beside = (Object.keys(signals) as SignalName[]).filter(
    (name) => name !== "effector_command" && signals[name]?.clock === signals.effector_command?.clock,
  );
  return runs.every(({ run: { stampMinusReceipt: known } }) =>
    Boolean("effector_command" in known && beside.some((name) => name in known)),
  );
}

function touchedBy(moved: readonly MovedByDelay[], setpointMoves: boolean): Pick<Check, "touches"> {
  if (moved.length > 0)
    return {
      touches: {
        subjects: [...new Set(moved.map(({ subject }) => subject))],
        axes: [...new Set(moved.map(({ axis }) => axis))],
      },
    };
  // a setpoint that rests is the same at any instant
  return setpointMoves ? {} : { touches: { subjects: ["effector", "arm"] } };
}

interface MovedByDelay {
  readonly subject: Subject;
  readonly axis: Axis;
  readonly words: string;
}

/**
 * What the delays do to the comparison: where candidate less baseline is another, by more than the smallest difference, once each
 * run's delay is removed. The largest first.
 */
function movedByDelay(campaign: Campaign, runs: readonly Delayed[], settings: Settings): MovedByDelay[] {
  const places = contrastsOf(campaign).flatMap((pair) =>
    subjects.flatMap((subject) => axes.map((axis) => ({ pair, subject, axis }))),
  );
  const moved = places.flatMap(({ pair, subject, axis }) => {
    const [candidate, baseline] = [pair.candidate, pair.baseline].map((configuration) => {
      const shares = runs
        .filter(({ run }) => run.declaration.configuration === configuration)
        .flatMap(({ run }) => {
          const figures = run.measures.tracking.cycles?.[subject]?.[axis];
          return figures?.rms_delay_removed == null ? [] : [[figures.rms, figures.rms - figures.rms_delay_removed]];
        });
      return shares.length === 0 ? null : [0, 1].map((k) => mean(Float64Array.from(shares, (own) => own[k]!)));
    });
    if (candidate == null || baseline == null) return [];
    const size = candidate[1]! - baseline[1]!;
    const matters = campaign.smallestDifference[subject] ?? settings.coarse_share * baseline[0]!;
    if (!(Math.abs(size) > matters)) return [];
    return [{ subject, axis, size, words: `${(1e3 * size).toFixed(1)} mm along ${axis} (${subject})` }];
  });
  return moved.sort((a, b) => Math.abs(b.size) - Math.abs(a.size));
}
