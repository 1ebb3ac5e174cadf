import { type AlignedRun, unaligned } from "../alignment/alignRun.ts";
import type { RunDeclaration } from "../contract/campaign.ts";
import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import type { RunExtras } from "../contract/runExtras.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check, Evidence } from "../foundation/checks.ts";
import { StoppedError } from "../foundation/errors.ts";
import { axes } from "../foundation/tracks.ts";
import { rateAtRest } from "../metrics/rateAtRest.ts";
import { responseDelay } from "../metrics/responseDelay.ts";
import { type ArmSeen, armSeen } from "./armSeen.ts";
import { bodiesLag } from "./bodiesLag.ts";
import { deviations, noiseInFlight } from "./captureNoise.ts";
import type { Fingerprint } from "./copiedRuns.ts";
import type { Effects } from "./effects.ts";
import { type FastMotion, fastMotion, restingShake } from "./fastMotion.ts";
import { fittedInRun } from "./fittedList.ts";
import { type AlignJob, alignOneRun, measureExtras, type RunFacts } from "./measureExtras.ts";
import { type BodyNoise, measureRun, type RunMeasures } from "./measureRun.ts";
import { sliceErrors } from "./windowSlices.ts";

/** How far to either side of the command its motion is looked for, seconds, and at least so many cycles. */
const widest = 3;
const cycles = 1.6;

/**
 * `clock-apart` by the arm alone: where its motion starts and stops before its command does, or more than `delay_to` after it,
 * the stamps of command and capture are not of one clock. Cyclic motion fits its command one cycle late nearly as well; the
 * starts and stops do not.
 *
 * The offset itself cannot be distinguished from a delay: what is said is that no delay is like that.
 */
function startStopCheck({ subjects, period }: AlignedRun, settings: Settings): Check[] {
  const track = subjects.arm;
  if (track === undefined) return [];
  const { t, measured, command } = track;
  const reach = Math.max(widest, cycles * (period ?? 0));
  const lag = responseDelay(
    {
      t,
      measured: [measured.x, measured.y, measured.z],
      commandTimes: command.t,
      command: [command.x, command.y, command.z],
    },
    // a rival that explains nearly as much is what a cycle's start and stop tell apart: a tenth of it is enough
    { from: -reach, to: reach, rival: settings.delay_rival, leastMotion: settings.start_stop_motion },
  );
  if (lag === null || (lag > -settings.start_stop_lead && lag < settings.delay_to)) return [];
  const milliseconds = (1e3 * Math.abs(lag)).toFixed(0);
  return [
    {
      code: "clock-apart",
      severity: "doubt",
      message: `the arm starts and stops ${milliseconds} ms ${lag < 0 ? "before" : "after"} its command does, which no arm does: the clocks of capture and command are apart, by that and the arm's own delay`,
      evidence: { subject: "arm", lag_s: lag, held_by: "start and stop", period_s: period },
      hint: "look at the sign of a declared `offset`, and whether it is out by a cycle; log a gyro and let `same_motion: [vehicle_pose, vehicle_rate]` find it",
      touches: { subjects: ["effector", "arm"] },
    },
  ];
}

/** All that is needed to work through one run, as plain data: it may travel to another thread. */
export interface RunJob extends AlignJob {
  /** sd of the measurement noise from static captures; null where there are none */
  readonly known: { readonly vehicle: BodyNoise | null; readonly effector: BodyNoise | null };
}

/** A run once it was measured, with all that its manifest says of it. */
export interface MeasuredRun extends Measurement {
  readonly declaration: RunDeclaration;
}

/** What is kept of a run once its samples are let go: what its logs and the job gave, and nothing else. */
export interface Measurement {
  readonly epoch: bigint | null;
  readonly checks: readonly Check[];
  readonly clocks: AlignedRun["clocks"];
  readonly witness: AlignedRun["witness"];
  readonly hold: AlignedRun["hold"];
  readonly cycles: AlignedRun["cycles"];
  readonly period: number | null;
  readonly flight: AlignedRun["flight"];
  readonly heading: AlignedRun["heading"];
  readonly judgedIn: AlignedRun["judgedIn"];
  readonly choices: AlignedRun["choices"];
  readonly measures: RunMeasures;
  readonly extras: RunExtras;
  readonly noise: ReturnType<typeof noiseInFlight>;
  readonly fast: FastMotion;
  readonly shake: FastMotion;
  /** by which the tool's stamps come after the vehicle's while the arm rests, seconds; null where that is not seen */
  readonly bodiesLag: number | null;
  /** how the capture shows the arm; null where it shows none */
  readonly arm: ArmSeen | null;
  /** typical stamp minus receipt of each signal that has both, seconds */
  readonly stampMinusReceipt: AlignedRun["stampMinusReceipt"];
  readonly fingerprint: Fingerprint;
  readonly fitted: CampaignEvaluation["fitted"];
  readonly parameters: RunFacts["parameters"];
  readonly markers: RunFacts["markers"];
}

/**
 * Reads, aligns and measures one run. A fault of its log is among its checks, and so is whatever was thrown on the way: no run stops
 * another.
 *
 * A run whose stretch is still to be decided over all runs of its trajectory is not measured: what it gives is its `flight`.
 */
export async function measureOne(job: RunJob, effects: Effects): Promise<Measurement> {
  try {
    return measured(job, await alignOneRun(job, effects));
  } catch (error) {
    if (error instanceof StoppedError) throw error;
    const { id } = job.declaration;
    return measured(job, {
      aligned: unaligned(null, {}, [broken(error)]),
      identity: { run: id, hashes: new Set() },
      parameters: null,
      markers: null,
    });
  }
}

/** What stopped a run, with the place in the program where `COUNTERPOISE_DEBUG` asks for it. */
function broken(error: unknown): Check {
  const said = error instanceof Error ? `${error.name}: ${error.message}` : String(error);
  const stack = error instanceof Error && process.env.COUNTERPOISE_DEBUG ? { stack: error.stack ?? "" } : {};
  return {
    code: "log-unreadable",
    severity: "unusable",
    message: `what the log holds cannot be worked through (${said})`,
    evidence: { error: said, ...stack },
    hint: "look at the run's numbers (`inspect LOG TOPIC`): one that nothing can measure is the usual cause; copy the log again from the recorder. COUNTERPOISE_DEBUG=1 puts the place in the program into the evidence",
  };
}

function measured(
  job: RunJob,
  { aligned: whole, identity, parameters, markers }: { aligned: AlignedRun } & RunFacts,
): Measurement {
  const { campaign, declaration, known, settings } = job;
  const undecided = whole.flight !== null && job.stretch === undefined;
  const aligned: AlignedRun = undecided ? { ...whole, hold: null, cycles: [], subjects: {}, bodies: {} } : whole;
  const noise = noiseInFlight(aligned);
  const limits = {
    vehicle: known.vehicle ?? deviations(noise.vehicle),
    effector: known.effector ?? deviations(noise.effector),
  };
  const measures = measureRun(aligned, limits, settings, campaign.tolerance);
  return {
    epoch: aligned.epoch,
    checks: [
      ...aligned.checks,
      ...splitCyclesCheck(aligned, settings),
      ...startStopCheck(aligned, settings),
      ...sharedRateCheck(aligned, measures.synchronous, settings),
    ],
    clocks: aligned.clocks,
    witness: aligned.witness,
    hold: aligned.hold,
    cycles: aligned.cycles,
    period: aligned.period,
    flight: aligned.flight,
    heading: aligned.heading,
    judgedIn: aligned.judgedIn,
    choices: aligned.choices,
    measures,
    extras: measureExtras(aligned, campaign, declaration, measures.synchronous, settings),
    noise,
    fast: fastMotion(aligned),
    shake: restingShake(aligned),
    bodiesLag: bodiesLag(aligned),
    arm: armSeen(aligned),
    stampMinusReceipt: aligned.stampMinusReceipt,
    fingerprint: identity,
    fitted: fittedInRun(campaign, declaration, aligned),
    parameters,
    markers,
  };
}

/**
 * `few-cycles` for a run whose cycles are all there but too few for the harmonics asked for: between two harmonics lie as
 * many frequencies as there are cycles less one, and from these a harmonic's uncertainty is taken.
 */
function splitCyclesCheck({ cycles, period, checks }: AlignedRun, settings: Settings): Check[] {
  const count = cycles.length;
  if (period === null || count === 0 || count >= settings.cycles_advised) return [];
  if (checks.some(({ code }) => code === "few-cycles")) return [];
  const message =
    count === 1
      ? "one whole cycle: what repeats cannot be separated from what does not, so there is no synchronous error"
      : `${count} whole cycles: harmonics 1 to ${settings.harmonics} stand close to all else, and their uncertainty rests on ${count - 1} ${count === 2 ? "frequency" : "frequencies"} between them`;
  return [
    {
      code: "few-cycles",
      severity: "note",
      message,
      evidence: { cycles: count, harmonics: settings.harmonics, cycles_advised: settings.cycles_advised },
      hint: `fly ${settings.cycles_advised} cycles or more in a run for its synchronous error`,
    },
  ];
}

/**
 * `shared-rate`: the vehicle moves at the cycle rate or a multiple of it while the arm rests. Air or controller share the
 * rate then, and the synchronous error of the cycles is not the arm's alone.
 *
 * Only amplitudes that chance does not explain (over all axes and harmonics together) and that are no trifle beside those
 * of the cycles.
 */
function sharedRateCheck(run: AlignedRun, synchronous: RunEvaluation["synchronous"], settings: Settings): Check[] {
  const track = run.subjects.vehicle;
  const flown = synchronous?.vehicle;
  if (track === undefined || flown === undefined || run.hold === null || run.period === null) return [];
  const { t, x, y, z } = sliceErrors(track, run.hold);
  const atRest = rateAtRest(t, [x, y, z], run.hold, run.period, {
    harmonics: settings.harmonics,
    neighbours: settings.harmonic_neighbours,
  });
  if (atRest === null) return [];
  const shared: string[] = [];
  const evidence: Record<string, Evidence[string]> = { rate_hz: 1 / run.period };
  axes.forEach((axis, a) => {
    for (const { k, amplitude, p } of atRest[a]!) {
      const moving = flown[axis].harmonics[k - 1]!.amplitude;
      if (p > settings.shared_rate_p / (axes.length * settings.harmonics)) continue;
      if (amplitude < settings.shared_rate_share * moving) continue;
      shared.push(
        `${axis} at ${k} times the rate (${millimetres(amplitude)} mm at rest, ${millimetres(moving)} mm in the cycles)`,
      );
      evidence[`${axis}_${k}_at_rest_m`] = amplitude;
      evidence[`${axis}_${k}_in_cycles_m`] = moving;
      evidence[`${axis}_${k}_p`] = p;
    }
  });
  if (shared.length === 0) return [];
  return [
    {
      code: "shared-rate",
      severity: "doubt",
      message: `the vehicle moves at the rate of the cycles while the arm rests: ${shared.join(", ")}`,
      evidence,
      hint: "air or controller share the rate: what they do and what the arm does cannot be separated in the synchronous error; fly the cycles at another rate",
    },
  ];
}

function millimetres(metres: number): string {
  return (1e3 * metres).toPrecision(2);
}
