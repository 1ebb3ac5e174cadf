import { type AlignedRun, alignRun } from "../alignment/alignRun.ts";
import type { DecidedStretch } from "../alignment/logged/commonStretch.ts";
import { fullScale } from "../alignment/powerChecks.ts";
import { type PreparedSignals, prepareSignals } from "../alignment/prepareSignals.ts";
import { turnToHeading } from "../alignment/turnToHeading.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { AllanEvaluation, RunExtras } from "../contract/runExtras.ts";
import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { MarkerFit } from "../foundation/recording.ts";
import { axes, subjects, type Window } from "../foundation/tracks.ts";
import { allanDeviation } from "../metrics/allanDeviation.ts";
import { hoverOutput, hoverPower, rmsEffort } from "../metrics/hoverPower.ts";
import { evenStretches } from "../metrics/welchSpectra.ts";
import { mean, quantile } from "../numeric/descriptive.ts";
import { type Fingerprint, fingerprint } from "./copiedRuns.ts";
import type { Effects } from "./effects.ts";
import { intervalOf, rounded, some } from "./extras/common.ts";
import { type BudgetFacts, measureBudget } from "./extras/measureBudget.ts";
import { type MovingFacts, measureMoving } from "./extras/measureMoving.ts";
import { measurePath } from "./extras/measurePath.ts";
import { measureSpectrum } from "./extras/measureSpectrum.ts";
import { readRunSignals } from "./readRunSignals.ts";
import { sliceErrors } from "./windowSlices.ts";

/**
 * The catalogue of what explains a run's error: path, budget, Allan deviation, spectrum and moving moment of an aligned run.
 *
 * @param facts        frames, signals and masses of the campaign
 * @param synchronous  the run's synchronous split, for the amplitudes of the harmonics in the spectrum; null where there is none
 */
export function measureExtras(
  run: AlignedRun,
  facts: BudgetFacts & MovingFacts,
  declaration: MeasuredDeclaration,
  synchronous: RunEvaluation["synchronous"],
  settings: Settings,
): RunExtras {
  return {
    path: measurePath(run, settings),
    budget: measureBudget(run, facts, settings),
    allan: measureAllan(run, settings),
    spectrum: measureSpectrum(run, synchronous, settings),
    ...measureMoving(run, facts, declaration, settings),
    ...measurePower(run),
    ...measureOutputs(run),
    ...measureEffort(run),
  };
}

/** The highest voltage of a log is that above which one reading in a hundred lies: a stray reading is no charged pack. */
const highestShare = 0.99;

/** Power in the hold window from volts and amperes; nothing of a run whose battery was not logged, or that never hovers. */
function measurePower({ battery, hold }: AlignedRun): Pick<RunExtras, "power"> {
  if (battery === null || hold === null) return {};
  const found = hoverPower(battery.t, battery.voltage, battery.current, hold);
  const measured = battery.voltage.filter((value) => Number.isFinite(value) && value > 0);
  const highest = measured.length === 0 ? null : quantile(measured, highestShare);
  const voltage = meanWithin(battery, hold);
  if ("why" in found) return { power: { mean: null, why: found.why, voltage, highest, current: null, samples: 0 } };
  const { power, current, samples } = found;
  return { power: { mean: power, why: null, voltage, highest, current, samples } };
}

/** Output of the motors in the hold window; nothing where they were not logged on a scale that is known, or never hover. */
function measureOutputs({ motors, hold }: AlignedRun): Pick<RunExtras, "outputs"> {
  if (motors === null || hold === null) return {};
  let highest = 0;
  for (const column of motors.outputs)
    for (let i = 0; i < column.length; i++)
      if (motors.t[i]! >= hold[0] && motors.t[i]! < hold[1] && column[i]! > highest) highest = column[i]!;
  const scale = fullScale(highest);
  const found = scale === null ? null : hoverOutput(motors.t, motors.outputs, hold, scale);
  return found === null ? {} : { outputs: { ...found } };
}

/** Effort of the arm over the cycles; nothing where it was not logged, or nothing cycles. */
function measureEffort({ armEffort, cycles }: AlignedRun): Pick<RunExtras, "effort"> {
  if (armEffort === null || cycles.length === 0) return {};
  const effort = rmsEffort(armEffort.t, armEffort.value, [cycles[0]![0], cycles.at(-1)![1]]);
  return effort === null ? {} : { effort };
}

/** Mean voltage under load in the window; null where none was measured. */
function meanWithin({ t, voltage }: NonNullable<AlignedRun["battery"]>, [from, to]: Window): number | null {
  const rows = voltage.filter((value, i) => t[i]! >= from && t[i]! < to && Number.isFinite(value) && value > 0);
  return rows.length === 0 ? null : mean(rows);
}

/** Overlapping Allan deviation of each subject in the hold window, where the command rests: that of the position is that of the error. */
function measureAllan(run: AlignedRun, settings: Settings): AllanEvaluation | null {
  if (run.hold === null) return null;
  const found: AllanEvaluation = {};
  for (const subject of subjects) {
    const track = run.subjects[subject];
    if (track === undefined) continue;
    const slice = sliceErrors(track, run.hold);
    const even = evenStretches(slice.t, [slice.x, slice.y, slice.z], {
      interval: intervalOf(run, subject),
      gapIntervals: settings.gap_intervals,
    });
    if (!even.stretches.some((stretch) => stretch[0]!.length >= 8)) continue;
    const deviations = axes.map((_, axis) =>
      allanDeviation(
        even.stretches.map((stretch) => stretch[axis]!),
        { interval: even.interval, perOctave: settings.allan_per_octave, level: settings.extras_level },
      ),
    );
    const of = (axis: number): { deviation: number[]; low: number[]; high: number[] } => {
      const { deviation, low, high } = deviations[axis]!;
      return { deviation: rounded(deviation), low: rounded(low), high: rounded(high) };
    };
    found[subject] = { tau: rounded(deviations[0]!.tau), x: of(0), y: of(1), z: of(2), level: settings.extras_level };
  }
  return some(found);
}

/** All that is needed to align one run, as plain data. */
export interface AlignJob {
  readonly campaign: RunGrounds;
  readonly declaration: MeasuredDeclaration;
  readonly manifestPath: string;
  readonly settings: Settings;
  /** of a run of a logged trajectory without a period: what it is scored over; absent where that is not decided yet */
  readonly stretch?: DecidedStretch;
  /** the axes in which errors are judged; a run without a heading stays in the world's */
  readonly judgeIn: "world" | "heading";
}

/** Reads and aligns one run. A fault of its log is among its checks. */
export async function alignOneRun(job: AlignJob, effects: Effects): Promise<{ aligned: AlignedRun } & RunFacts> {
  const { prepared, checks, ...facts } = await readAndPrepare(job, effects);
  const { campaign, declaration, settings, stretch } = job;
  const aligned = alignRun(campaign, declaration, prepared, checks, settings, stretch ?? null);
  return { aligned: job.judgeIn === "heading" ? turnToHeading(aligned) : aligned, ...facts };
}

/** What is kept of a run's logs besides its motion. */
export interface RunFacts {
  readonly identity: Fingerprint;
  readonly parameters: ReadonlyMap<string, number> | null;
  /** how well bodies solved from markers fit; null where no body was */
  readonly markers: Readonly<Partial<Record<"vehicle" | "effector", MarkerFit>>> | null;
}

/** Reading apart from the rest, so that the raw columns can be let go before the run is aligned. */
async function readAndPrepare(
  { campaign, declaration, manifestPath, settings }: AlignJob,
  effects: Effects,
): Promise<{ prepared: PreparedSignals; checks: readonly Check[] } & RunFacts> {
  const { signals, checks, parameters } = await readRunSignals(campaign, declaration, manifestPath, effects);
  const [vehicle, effector] = [signals.get("vehicle_pose")?.fit, signals.get("effector_pose")?.fit];
  const markers = { ...(vehicle ? { vehicle } : {}), ...(effector ? { effector } : {}) };
  return {
    prepared: prepareSignals(campaign, declaration, signals, settings),
    checks,
    identity: fingerprint(declaration.id, signals.get("vehicle_pose")),
    parameters,
    markers: vehicle || effector ? markers : null,
  };
}
