import type { BenchChannel, BenchSensor } from "../contract/benchDeclaration.ts";
import type { BenchCheck } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import type { Axis } from "../foundation/tracks.ts";
import { median } from "../numeric/descriptive.ts";
import { amplitudeOf, crossTalkFloor, isCreep, type MeasuredBenchRun } from "./benchRuns.ts";
import { magnitude, product, quotient, timesNumber } from "./phasor.ts";

export interface RunFinding {
  readonly id: string;
  readonly check: BenchCheck;
}

const forces = ["fx", "fy", "fz"] as const;

/**
 * What single runs show against what was filed of them, and against the baseline's force at their speed: another number of cycles, drift that the tares leave, a force that differs between
 * up-stroke and down-stroke, and a mount that rattles (what no harmonic of the travel explains, less what is there at rest).
 */
export function runSuspicions(
  runs: readonly MeasuredBenchRun[],
  baseline: string,
  sensor: BenchSensor,
  settings: BenchSettings,
): RunFinding[] {
  const found: RunFinding[] = [];
  for (const one of runs) {
    const { measure, run } = one;
    const cycles = cyclesCheck(one, settings);
    if (cycles !== null) found.push({ id: run.id, check: cycles });
    if (measure.cycles === null || measure.channels === null || isCreep(one, settings)) continue;
    const like = runs.filter(
      (other) =>
        other.run.trajectory === run.trajectory &&
        other.run.speed?.rate === run.speed?.rate &&
        other.run.configuration === baseline,
    );
    const main = measure.cycles.main;
    const channel = `f${main}` as BenchChannel;
    const sizes = (like.length === 0 ? [one] : like).map((other) =>
      Math.max(...forces.map((name) => amplitudeOf(other, name) ?? 0)),
    );
    const size = median(Float64Array.from(sizes));
    for (const check of [
      strokeCheck(one, main, { size, floor: crossTalkFloor(one, channel, sensor, main) ?? 0 }, settings),
      looseCheck(one, runs, { channel, size }, settings),
      driftCheck(one, size, channel, settings),
    ])
      if (check !== null) found.push({ id: run.id, check });
  }
  return found;
}

/** Filed cycles against those that the arm ran: another number is another run, or a file that was cut. */
function cyclesCheck({ measure, run }: MeasuredBenchRun, settings: BenchSettings): BenchCheck | null {
  if (run.cycles === null || measure.cycles === null) return null;
  const { ran } = measure.cycles;
  if (Math.abs(ran - run.cycles) <= settings.cycles_apart) return null;
  return {
    code: "wrong-trajectory",
    severity: "doubt",
    message: `the arm runs ${ran.toFixed(1)} cycles, ${run.cycles} are filed`,
    evidence: { cycles: ran, filed: run.cycles },
    hint: "look whether this is the log of that run, and whether it was cut",
  };
}

function strokeCheck(
  { measure }: MeasuredBenchRun,
  axis: Axis,
  { size, floor }: { readonly size: number; readonly floor: number },
  settings: BenchSettings,
): BenchCheck | null {
  const travel = measure.cycles!.travel[axis][0]!;
  const force = measure.first![`f${axis}`];
  // part of the force in step with the velocity
  const along = timesNumber(quotient(force, travel), magnitude(travel));
  const one = measure.channels![`f${axis}`].harmonics[0];
  if (one === undefined) return null;
  const se = Math.sqrt((one.cov[0] + one.cov[2]) / 2);
  if (!(Math.abs(along[1]) > settings.stroke_share * size + floor && Math.abs(along[1]) > 4 * se)) return null;
  const delay = Math.abs(Math.atan2(along[1], along[0])) / ((2 * Math.PI) / measure.cycles!.period);
  return {
    code: "stroke-uneven",
    severity: "doubt",
    message: `the force along ${axis} differs between up-stroke and down-stroke at the same place, by up to ${(2 * Math.abs(along[1])).toPrecision(2)} N: a cable that tugs, friction, or a delay of ${Math.round(1000 * delay)} ms between the two signals`,
    evidence: { in_step_with_velocity_n: along[1], force_n: size },
    hint: "tie the cables along the arm with slack, and look whether the same delay shows at every speed",
  };
}

function looseCheck(
  one: MeasuredBenchRun,
  runs: readonly MeasuredBenchRun[],
  { channel, size }: { channel: BenchChannel; size: number },
  settings: BenchSettings,
): BenchCheck | null {
  const own = rattle(one, channel);
  if (own === null || !(own > (settings.loose_share * size) / Math.SQRT2)) return null;
  const others = runs
    .filter(
      (other) =>
        other !== one &&
        other.run.trajectory === one.run.trajectory &&
        other.run.speed?.rate === one.run.speed?.rate &&
        other.run.configuration === one.run.configuration,
    )
    .flatMap((other) => rattle(other, channel) ?? []);
  const usual = others.length === 0 ? 0 : median(Float64Array.from(others));
  if (others.length > 0 && usual < (settings.loose_share * size) / Math.SQRT2 && own < settings.loose_ratio * usual)
    return null;
  return {
    code: "loose-mount",
    severity: "doubt",
    message: `${own.toPrecision(2)} N rms of ${channel} is neither in step with the arm nor there at rest, against ${(size / Math.SQRT2).toPrecision(2)} N of the arm alone: a mount with play, or something that knocks`,
    evidence: { rattle_n: own, force_n: size / Math.SQRT2 },
    hint: "tighten and mark the screws of mount and counterweights, and look at the drift of the same run",
  };
}

/** Rms of a force that neither the travel's harmonics nor the noise at rest explains. */
function rattle({ measure }: MeasuredBenchRun, channel: BenchChannel): number | null {
  const { cycles, channels, atRest, first } = measure;
  if (cycles === null || channels === null || atRest === null || first === null) return null;
  const axis = channel[1] as Axis;
  const perTravel = quotient(first[channel], cycles.travel[axis][0]!);
  let square = channels[channel].remaining ** 2 - atRest[channel] ** 2;
  for (const { k, cos, sin } of channels[channel].harmonics.slice(1)) {
    const explained = timesNumber(product(perTravel, cycles.travel[axis][k - 1]!), k * k);
    square += ((cos - explained[0]) ** 2 + (-sin - explained[1]) ** 2) / 2;
  }
  return Math.sqrt(Math.max(0, square));
}

function driftCheck(
  { measure }: MeasuredBenchRun,
  size: number,
  channel: BenchChannel,
  settings: BenchSettings,
): BenchCheck | null {
  const left = Math.abs(measure.driftLeft?.[channel] ?? 0);
  if (!(left > settings.drift_share * size)) return null;
  return {
    code: "drift",
    severity: "doubt",
    message: `${channel} drifts over the cycles by ${left.toPrecision(2)} N that the tares do not show, ${Math.round((100 * left) / size)} % of the arm's force`,
    evidence: { drift_n: left, force_n: size },
    hint: "let the sensor warm up for half an hour, and look for a cable that leans on it",
  };
}
