import { expect } from "vitest";
import type { Campaign, RunDeclaration, SignalSource } from "../../src/contract/campaign.ts";
import type { RecordedSignal, StampColumn } from "../../src/foundation/recording.ts";
import type { PoseTrack, SignalName } from "../../src/foundation/tracks.ts";
import type { Quaternion } from "../../src/foundation/units.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

/** A date: 2025-10-14, nanoseconds. */
export const someDate = 1_760_432_400_000_000_000n;

/** Every number within `tolerance` of the one expected in its place, and as many of them. */
export function expectNear(found: Iterable<number>, expected: Iterable<number>, tolerance: number): void {
  const wanted = [...expected];
  const differences = Array.from(found, (value, i) => Math.abs(value - (wanted[i] ?? Number.NaN)));
  expect(differences.length).toBe(wanted.length);
  expect(differences.filter((difference) => !(difference < tolerance))).toEqual([]);
}

export function stamps(seconds: Iterable<number>, epoch: bigint = someDate): StampColumn {
  return { epoch, seconds: Float64Array.from(seconds) };
}

/** A signal as a reader would give it; `received` is the header stamp and 2 ms where not said. */
export function signal(
  changes: Partial<RecordedSignal> & { readonly at?: Iterable<number>; readonly epoch?: bigint } = {},
): RecordedSignal {
  const { at = [0, 1, 2], epoch = someDate, ...rest } = changes;
  const stamped = stamps(at, epoch);
  return {
    signal: "vehicle_pose",
    topic: "/mocap/airframe",
    type: "geometry_msgs/PoseStamped",
    frameId: "world",
    received: { epoch, seconds: stamped.seconds.map((t) => t + 0.002) },
    stamped,
    zeroStamps: 0,
    columns: {},
    given: {},
    ...rest,
  };
}

/** A pose track from a function of time; level where it gives no attitude. */
export function poses(
  t: Float64Array,
  at: (t: number, i: number) => { p: readonly [number, number, number]; q?: Quaternion },
): PoseTrack {
  const columns = Array.from({ length: 7 }, () => new Float64Array(t.length));
  t.forEach((time, i) => {
    const { p, q = [0, 0, 0, 1] } = at(time, i);
    [...p, ...q].forEach((value, c) => {
      columns[c]![i] = value;
    });
  });
  const [x, y, z, qx, qy, qz, qw] = columns as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  return { t, x, y, z, qx, qy, qz, qw };
}

/** k / rate for 0 <= t < seconds. */
export function evenTimes(rate: number, seconds: number, from = 0): Float64Array {
  return Float64Array.from({ length: Math.round(rate * seconds) }, (_, k) => from + k / rate);
}

/** Rotation by `angle` radians about a unit axis. */
export function turn(axis: readonly [number, number, number], angle: number): Quaternion {
  const s = Math.sin(angle / 2);
  return [axis[0] * s, axis[1] * s, axis[2] * s, Math.cos(angle / 2)];
}

/**
 * A hover as a capture system shows it: a slow wander of centimetres, a tilt of degrees, and capture noise of 0.2 mm
 * and 0.7 mrad on every sample.
 */
export function noisyFlight(seed: number, rate: number, seconds: number, jitter = 0): PoseTrack {
  const random = seededRandom(seed);
  const phases = Array.from({ length: 6 }, () => 2 * Math.PI * random.uniform());
  const t = evenTimes(rate, seconds).map((time) => time + (jitter * (random.uniform() - 0.5)) / rate);
  return poses(t, (time) => {
    const wave = (k: number, f: number): number => Math.sin(2 * Math.PI * f * time + phases[k]!);
    const noise = (sd: number): number => sd * random.normal();
    const roll = 0.03 * wave(3, 0.9) + noise(0.0007);
    const pitch = 0.03 * wave(4, 1.1) + noise(0.0007);
    const yaw = 0.1 * wave(5, 0.1) + noise(0.0007);
    const size = Math.hypot(roll / 2, pitch / 2, yaw / 2, 1);
    return {
      p: [
        0.4 + 0.05 * wave(0, 0.3) + noise(0.0002),
        -0.2 + 0.05 * wave(1, 0.4) + noise(0.0002),
        1.5 + 0.05 * wave(2, 0.2) + noise(0.0002),
      ],
      q: [roll / 2 / size, pitch / 2 / size, yaw / 2 / size, 1 / size],
    };
  });
}

const identity = { translation: [0, 0, 0], rotation: [0, 0, 0, 1] } as const;

/** A campaign of one run; only what alignment reads matters here. */
export function campaign(changes: Partial<Campaign> = {}): Campaign {
  return {
    title: "Invented campaign",
    baseline: "bare",
    candidate: "weighted",
    sham: null,
    smallestDifference: { vehicle: 0.0015, effector: 0.0015, arm: null },
    primary: "rms",
    tolerance: null,
    judgeIn: null,
    axisNames: { x: null, y: null, z: null },
    configurations: {},
    vehicle: null,
    frames: {
      worldUp: "z",
      onboard: identity,
      onboardDeclared: false,
      onboardByBlock: {},
      toolPoint: [0, 0, 0],
      toolPointDeclared: false,
      bodyPoint: [0, 0, 0],
      bodyPointDeclared: false,
      armBase: identity,
      armBaseDeclared: false,
      uncertainty: { length: null, angle: null },
    },
    signals: {},
    clocks: { reference: null, others: {} },
    trajectories: {},
    accept: [],
    thresholds: {},
    staticCaptures: [],
    runs: [],
    ...changes,
  };
}

export function source(changes: Partial<SignalSource> = {}): SignalSource {
  return {
    topic: "/x",
    clock: "",
    log: null,
    frame: "world",
    child: null,
    joint: null,
    fields: null,
    columns: null,
    units: null,
    markers: null,
    axes: null,
    stamp: "header",
    between: null,
    ...changes,
  };
}

export const oneRun: RunDeclaration = {
  id: "run-1",
  logs: { "": ["run-1.bag"] },
  configuration: "bare",
  trajectory: "orbit",
  block: "day1",
  span: null,
  battery: null,
  takeoffMass: null,
  started: null,
  notes: null,
  outcome: "completed",
  exclude: null,
};

/** A recorded pose signal from a track. */
export function poseSignal(name: SignalName, track: PoseTrack, epoch: bigint = someDate): RecordedSignal {
  const { x, y, z, qx, qy, qz, qw } = track;
  return signal({ signal: name, at: track.t, epoch, columns: { x, y, z, qx, qy, qz, qw } });
}
