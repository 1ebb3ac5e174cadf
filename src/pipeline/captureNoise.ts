import type { AlignedRun } from "../alignment/alignRun.ts";
import { pointOnBody } from "../alignment/frames.ts";
import { type BodyUp, type PreparedSignal, prepareSignal } from "../alignment/timedSignals.ts";
import type { Campaign, RunDeclaration, SignalSource } from "../contract/campaign.ts";
import type { NoiseFigures } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { CounterpoiseError } from "../foundation/errors.ts";
import type { Recording } from "../foundation/recording.ts";
import { type Axis, axes, type PointTrack } from "../foundation/tracks.ts";
import { type AxisNoise, flightNoise, staticNoise } from "../metrics/measurementNoise.ts";
import type { Effects } from "./effects.ts";
import { definitionsOf, request } from "./readRunSignals.ts";
import { besideManifest } from "./wholeText.ts";
import { checkEvaluation } from "./writeEvaluation.ts";

type Body = "vehicle" | "effector";
export type NoiseByAxis = Readonly<Record<Axis, AxisNoise>>;

/** Noise of both bodies from static captures; both null without a static capture that can be used. */
export interface StaticCaptures {
  readonly vehicle: NoiseByAxis | null;
  readonly effector: NoiseByAxis | null;
  readonly checks: readonly Check[];
}

/** Reads the static captures and pools their noise per body and axis, at the control points. */
export async function readStaticCaptures(
  campaign: Campaign,
  manifestPath: string,
  settings: Settings,
  effects: Effects,
): Promise<StaticCaptures> {
  const tracks: Record<Body, PointTrack[]> = { vehicle: [], effector: [] };
  const checks: Check[] = [];
  const bodies = (["vehicle_pose", "effector_pose"] as const).filter((name) => campaign.signals[name] !== undefined);
  for (const file of campaign.staticCaptures) {
    try {
      const requests = bodies.map((name) => request(name, campaign.signals[name] as SignalSource));
      const recording = await effects.readLog(
        [besideManifest(manifestPath, file)],
        requests,
        definitionsOf(campaign, manifestPath),
      );
      for (const [name, track] of bodyTracks(campaign, recording, settings)) {
        const spread = largestSpread(track);
        if (spread > settings.static_spread) checks.push(notStatic(file, name, spread));
        else tracks[name === "vehicle_pose" ? "vehicle" : "effector"].push(track);
      }
      if (recording.missing.length > 0)
        checks.push(incomplete(file, recording.missing[0]!.message, recording.missing[0]!.hint));
    } catch (error) {
      if (!(error instanceof CounterpoiseError)) throw error;
      checks.push({
        code: "log-unreadable",
        severity: "doubt",
        message: `static capture ${file}: ${error.message}`,
        evidence: { log: file, error: error.code },
        hint: error.hint ?? "check its path; without static captures the noise is estimated in flight",
      });
    }
  }
  const pool = (body: Body): NoiseByAxis | null => {
    const found = axes.map((axis) => staticNoise(tracks[body].map((track) => ({ t: track.t, values: track[axis] }))));
    return found.some((noise) => noise === null) ? null : { x: found[0]!, y: found[1]!, z: found[2]! };
  };
  return { vehicle: pool("vehicle"), effector: pool("effector"), checks };
}

/** Where the control points of the bodies in a capture were. */
function bodyTracks(
  campaign: Campaign,
  { signals }: Recording,
  settings: Settings,
): ["vehicle_pose" | "effector_pose", PointTrack][] {
  const tracks: ["vehicle_pose" | "effector_pose", PointTrack][] = [];
  // the vehicle comes first, and tells how the axes of both are meant
  let bodyUp: BodyUp | null = null;
  for (const name of ["vehicle_pose", "effector_pose"] as const) {
    const signal = signals.get(name);
    if (!signal) continue;
    const prepared: PreparedSignal = prepareSignal(campaign, captureRun, signal, settings, bodyUp);
    if (name === "vehicle_pose") bodyUp = prepared.bodyUp;
    const { poses } = prepared;
    const { bodyPoint, toolPoint } = campaign.frames;
    if (poses !== null && poses.t.length >= 10)
      tracks.push([name, pointOnBody(poses, name === "vehicle_pose" ? bodyPoint : toolPoint)]);
  }
  return tracks;
}

/** Noise of both bodies seen in one flight. */
export function noiseInFlight(run: AlignedRun): { vehicle: NoiseByAxis | null; effector: NoiseByAxis | null } {
  const of = (body: Body): NoiseByAxis | null => {
    const track = run.bodies[body];
    const interval = run.intervals[body];
    if (!track || interval === undefined) return null;
    const found = axes.map((axis) => flightNoise(track.t, track[axis], interval));
    return found.some((noise) => noise === null) ? null : { x: found[0]!, y: found[1]!, z: found[2]! };
  };
  return { vehicle: of("vehicle"), effector: of("effector") };
}

/** Pools noise over runs by the number of readings. */
export function poolNoise(runs: readonly (NoiseByAxis | null)[]): NoiseByAxis | null {
  const known = runs.filter((run) => run !== null);
  if (known.length === 0) return null;
  const pooled = axes.map((axis): AxisNoise => {
    const samples = known.reduce((sum, run) => sum + run[axis].samples, 0);
    const root = (pick: (noise: AxisNoise) => number): number =>
      Math.sqrt(known.reduce((sum, run) => sum + pick(run[axis]) ** 2 * run[axis].samples, 0) / samples);
    return {
      sd: root((noise) => noise.sd),
      successive_difference: root((noise) => noise.successive_difference),
      drift: null,
      samples,
    };
  });
  return { x: pooled[0]!, y: pooled[1]!, z: pooled[2]! };
}

/** The sd of each axis alone, metres. */
export function deviations(noise: NoiseByAxis | null): Record<Axis, number> | null {
  return noise === null ? null : { x: noise.x.sd, y: noise.y.sd, z: noise.z.sd };
}

/** The `noise` part of the evaluation. A body without static captures falls back to what was seen in flight. */
export function noiseFigures(
  captures: StaticCaptures,
  inFlight: { vehicle: NoiseByAxis | null; effector: NoiseByAxis | null },
  files: readonly string[],
): NoiseFigures {
  const isStatic = captures.vehicle !== null;
  const vehicle = captures.vehicle ?? inFlight.vehicle;
  const effector = isStatic ? captures.effector : inFlight.effector;
  if (vehicle === null && effector === null && captures.checks.length === 0) return null;
  return {
    source: isStatic ? "static" : "in flight",
    vehicle: deviations(vehicle),
    effector: deviations(effector),
    detail: {
      vehicle,
      effector,
      captures: isStatic ? [...files] : [],
      checks: captures.checks.map(checkEvaluation),
    },
  };
}

/** Stands in for a run where only the frames of the campaign matter. */
const captureRun: RunDeclaration = {
  id: "static capture",
  logs: {},
  configuration: "",
  trajectory: "",
  block: null,
  span: null,
  battery: null,
  takeoffMass: null,
  started: null,
  notes: null,
  outcome: "completed",
  exclude: null,
};

function largestSpread(track: PointTrack): number {
  return Math.max(
    ...axes.map((axis) => {
      const values = track[axis];
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
    }),
  );
}

function notStatic(file: string, signal: string, spread: number): Check {
  return {
    code: "at-noise",
    severity: "doubt",
    message: `static capture ${file}: ${signal} wanders by ${(1e3 * spread).toFixed(1)} mm (sd), so it was not at rest; it was left out`,
    evidence: { log: file, signal, sd_m: spread },
    hint: "capture both bodies at rest, props off, for 20 to 60 s",
  };
}

function incomplete(file: string, message: string, hint: string): Check {
  return {
    code: "missing-signal",
    severity: "note",
    message: `static capture ${file}: ${message}`,
    evidence: { log: file },
    hint,
  };
}
