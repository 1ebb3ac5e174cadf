import { type BenchReading, benchChannels, type SensorFilter } from "../contract/benchDeclaration.ts";
import type { RigidTransform } from "../contract/campaign.ts";
import { standardGravity, type Vector3 } from "../foundation/units.ts";
import { rotateVector } from "../numeric/quaternion.ts";
import { randomStream } from "./attitude.ts";
import { addStandFaults, type StandFault } from "./benchFaults.ts";

/** A mass that the arm carries about: place at the arm's mean posture in the arm base, travel per travel of the control point. */
export interface CarriedMass {
  readonly mass: number;
  readonly at: Vector3;
  readonly travel: Vector3;
}

export type StandTrajectory =
  | { readonly shape: "circle"; readonly plane: "xy" | "yz" | "xz"; readonly radius: number }
  | { readonly shape: "line"; readonly axis: "x" | "y" | "z"; readonly stroke: number };

/** One bench run to be simulated. SI. */
export interface StandSettings {
  readonly trajectory: StandTrajectory;
  readonly period: number;
  readonly cycles: number;
  readonly masses: readonly CarriedMass[];
  /** where the control point rests at the start of a line, or the centre of a circle, in the arm base */
  readonly centre: Vector3;
  /** at rest before and after, seconds */
  readonly rest: readonly [number, number];
  readonly sensor: {
    readonly at: RigidTransform;
    readonly sign: "on_sensor" | "on_arm";
    readonly rate: number;
    /** standard deviation of a reading */
    readonly noise: { readonly force: number; readonly moment: number };
    /** at the end of a second; wanders by as much besides over a minute */
    readonly drift: { readonly force: number; readonly moment: number };
    readonly bias: { readonly force: number; readonly moment: number };
    /** share that each channel shows of the others, over their full scales */
    readonly crossTalk: number;
    /** decides the sensor's cross-talk: one sensor serves all runs of a bench */
    readonly serial: number;
    readonly fullScale: { readonly force: number; readonly moment: number };
    readonly filter: SensorFilter | null;
  };
  readonly fixture: { readonly frequency: number; readonly damping: number } | null;
  readonly arm: {
    readonly rate: number;
    readonly noise: number;
    readonly offset: number;
    /** the servo's -3 dB: it travels less far the faster it is asked to; null: as asked */
    readonly rollOff: number | null;
  };
  /** turn of the mounting about the vertical, radians, and scale of all masses: what a refit changes */
  readonly mounting: { readonly turn: number; readonly scale: number };
  readonly faults: readonly StandFault[];
}

export interface StandTruth {
  /** apparent moving mass along each axis, kg */
  readonly u: Vector3;
  /** of My over S_x and Mx over S_y about the arm base: gravity's part, N, and inertia's, kg m */
  readonly gravitational: { readonly my: number; readonly mx: number };
  readonly inertial: { readonly my: number; readonly mx: number };
}

/** The moving masses of an arm and what follows from them for a rigid bench. */
export function standTruth(masses: readonly CarriedMass[], scale = 1): StandTruth {
  const sum = (of: (mass: CarriedMass) => number): number => scale * masses.reduce((all, mass) => all + of(mass), 0);
  const u: Vector3 = [0, 1, 2].map((axis) => sum(({ mass, travel }) => mass * travel[axis]!)) as unknown as Vector3;
  return {
    u,
    gravitational: { my: standardGravity * u[0], mx: -standardGravity * u[1] },
    inertial: {
      my: sum(({ mass, at, travel }) => mass * at[2] * travel[0]),
      mx: -sum(({ mass, at, travel }) => mass * at[2] * travel[1]),
    },
  };
}

/** Time in which the arm comes up to its rate, and comes to rest again, seconds. */
const rampTime = 0.25;
/** Steps a second in which a fixture and a filter are followed. */
const innerRate = 2000;

/**
 * One run on a bench: the arm goes round or to and fro on a sensor, with the truth known. Every mass is a point; its weight and its
 * inertia act where it is at that moment, so that all products of travel with height are in.
 *
 *   F = sum of m (g - r''),   M = sum of r x m (g - r''),   r = at + travel s(t)
 *
 * @param seed  decides noise, drift and cross-talk
 */
export function simulateStand(settings: StandSettings, seed: number): { reading: BenchReading; truth: StandTruth } {
  const { sensor, rest, period, cycles } = settings;
  const whole = rest[0] + cycles * period + rampTime + rest[1];
  const filtered = settings.fixture !== null || sensor.filter !== null;
  const every = filtered ? Math.max(1, Math.round(innerRate / sensor.rate)) : 1;
  const dt = 1 / (sensor.rate * every);
  const n = Math.floor(whole * sensor.rate) * every;
  let columns = exerted(
    settings,
    Float64Array.from({ length: n }, (_, i) => i * dt),
  );
  if (settings.fixture !== null) columns = columns.map((column) => secondOrder(column, dt, settings.fixture!));
  if (sensor.filter !== null) columns = columns.map((column) => lowPass(column, dt, sensor.filter!));
  columns = columns.map((column) => column.filter((_, i) => i % every === 0));
  const t = Float64Array.from({ length: columns[0]!.length }, (_, i) => i / sensor.rate);
  const read = readBySensor(columns, t, sensor, seed);
  const arm = armTrack(settings, whole, seed);
  const reading: BenchReading = {
    t,
    wrench: Object.fromEntries(benchChannels.map((name, c) => [name, read[c]!])) as BenchReading["wrench"],
    sequence: Float64Array.from(t, (_, i) => i),
    status: new Float64Array(t.length),
    arm,
    marks: null,
  };
  const truth = standTruth(settings.masses, settings.mounting.scale);
  return { reading: addStandFaults(reading, settings, seed), truth };
}

/** Wrench about the arm base that the arm exerts, six columns. */
function exerted(settings: StandSettings, t: Float64Array): Float64Array[] {
  const out = benchChannels.map(() => new Float64Array(t.length));
  const { scale, turn } = settings.mounting;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  for (let i = 0; i < t.length; i++) {
    const { s, a } = motion(settings, t[i]!);
    let [fx, fy, fz, mx, my, mz] = [0, 0, 0, 0, 0, 0];
    for (const { mass, at, travel } of settings.masses) {
      const m = scale * mass;
      const [x, y, z] = [at[0] + travel[0] * s[0], at[1] + travel[1] * s[1], at[2] + travel[2] * s[2]];
      const [px, py, pz] = [-m * travel[0] * a[0], -m * travel[1] * a[1], -m * (standardGravity + travel[2] * a[2])];
      fx += px;
      fy += py;
      fz += pz;
      mx += y * pz - z * py;
      my += z * px - x * pz;
      mz += x * py - y * px;
    }
    out[0]![i] = cos * fx - sin * fy;
    out[1]![i] = sin * fx + cos * fy;
    out[2]![i] = fz;
    out[3]![i] = cos * mx - sin * my;
    out[4]![i] = sin * mx + cos * my;
    out[5]![i] = mz;
  }
  return out;
}

/** Travel about the mean posture and its second derivative; the rate comes up smoothly, so that no force is infinite. */
function motion(settings: StandSettings, time: number): { s: [number, number, number]; a: [number, number, number] } {
  const { trajectory, period, cycles, rest, arm } = settings;
  const w = (2 * Math.PI) / period;
  const end = 2 * Math.PI * cycles;
  const since = time - rest[0];
  const ramp = rampTime;
  // up: w t^2 / (2 ramp); then w t; the last part as the first, backwards
  const [last, steady] = [end / w + ramp, end / w];
  let [theta, rate, change] = [0, 0, 0];
  if (since >= last) theta = end;
  else if (since > steady)
    [theta, rate, change] = [end - (w * (last - since) ** 2) / (2 * ramp), (w * (last - since)) / ramp, -w / ramp];
  else if (since > ramp) [theta, rate] = [w * (since - ramp / 2), w];
  else if (since > 0) [theta, rate, change] = [(w * since ** 2) / (2 * ramp), (w * since) / ramp, w / ramp];
  const size = arm.rollOff === null ? 1 : 1 / Math.hypot(1, 1 / (period * arm.rollOff));
  const s: [number, number, number] = [0, 0, 0];
  const a: [number, number, number] = [0, 0, 0];
  const put = (axis: string, amplitude: number, phase: number): void => {
    const k = "xyz".indexOf(axis);
    s[k] = size * amplitude * Math.cos(theta + phase);
    a[k] = size * amplitude * (-Math.cos(theta + phase) * rate ** 2 - Math.sin(theta + phase) * change);
  };
  if (trajectory.shape === "line") put(trajectory.axis, -trajectory.stroke / 2, 0);
  else {
    put(trajectory.plane[0]!, trajectory.radius, 0);
    put(trajectory.plane[1]!, trajectory.radius, -Math.PI / 2);
  }
  return { s, a };
}

function armTrack(settings: StandSettings, whole: number, seed: number): BenchReading["arm"] {
  const { arm, centre } = settings;
  const random = randomStream(seed, "arm");
  const n = Math.floor(whole * arm.rate);
  const t = Float64Array.from({ length: n }, (_, i) => i / arm.rate);
  const [x, y, z] = [0, 1, 2].map(() => new Float64Array(n)) as [Float64Array, Float64Array, Float64Array];
  for (let i = 0; i < n; i++) {
    const { s } = motion(settings, t[i]!);
    x[i] = centre[0] + s[0] + arm.noise * random.normal();
    y[i] = centre[1] + s[1] + arm.noise * random.normal();
    z[i] = centre[2] + s[2] + arm.noise * random.normal();
  }
  return { t: t.map((time) => time + arm.offset), x, y, z };
}

/** In the sensor's axes, about its origin, with its sign; then what a real one adds. */
function readBySensor(
  columns: readonly Float64Array[],
  t: Float64Array,
  sensor: StandSettings["sensor"],
  seed: number,
): Float64Array[] {
  const { at, sign } = sensor;
  const [qx, qy, qz, qw] = at.rotation;
  const back = [-qx, -qy, -qz, qw] as const;
  const s = sign === "on_sensor" ? 1 : -1;
  const [rx, ry, rz] = at.translation;
  const full = [0, 1, 2, 3, 4, 5].map((c) => (c < 3 ? sensor.fullScale.force : sensor.fullScale.moment));
  const random = randomStream(seed, "sensor");
  const talk = randomStream(sensor.serial, "cross-talk");
  const mixing = full.map((_, i) => full.map((_, j) => (i === j ? 0 : sensor.crossTalk * (talk.uniform() - 0.5))));
  const out = full.map(() => new Float64Array(t.length));
  for (let i = 0; i < t.length; i++) {
    const [fx, fy, fz, mx, my, mz] = columns.map((column) => column[i]!) as [
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    const force = rotateVector(back, [s * fx, s * fy, s * fz]);
    const about: Vector3 = [mx - (ry * fz - rz * fy), my - (rz * fx - rx * fz), mz - (rx * fy - ry * fx)];
    const moment = rotateVector(back, [s * about[0], s * about[1], s * about[2]]);
    const clean = [...force, ...moment];
    for (let c = 0; c < 6; c++) {
      let value = clean[c]!;
      if (sensor.crossTalk > 0) for (let j = 0; j < 6; j++) value += (mixing[c]![j]! * clean[j]! * full[c]!) / full[j]!;
      out[c]![i] = value;
    }
  }
  const kind = (c: number): "force" | "moment" => (c < 3 ? "force" : "moment");
  for (let c = 0; c < 6; c++) {
    const noise = sensor.noise[kind(c)];
    const drift = sensor.drift[kind(c)] * random.normal();
    const wander = sensor.drift[kind(c)] * 5 * random.normal();
    const bias = sensor.bias[kind(c)] * random.normal();
    for (let i = 0; i < t.length; i++)
      out[c]![i]! += bias + drift * t[i]! + wander * Math.sin(t[i]! / 23) + noise * random.normal();
  }
  return out;
}

/** A fixture with one resonance: trapezoidal steps of y'' + 2 zeta w y' + w^2 y = w^2 x, at rest at the start. */
export function secondOrder(
  x: Float64Array,
  dt: number,
  { frequency, damping }: { frequency: number; damping: number },
): Float64Array {
  const w = 2 * Math.PI * frequency;
  return biquad(x, dt, [w * w, 0, 0], [w * w, 2 * damping * w, 1], w);
}

function lowPass(x: Float64Array, dt: number, { kind, order, cutoff }: SensorFilter): Float64Array {
  const w = 2 * Math.PI * cutoff;
  if (kind === "low-pass" && order === 2) return biquad(x, dt, [w * w, 0, 0], [w * w, Math.SQRT2 * w, 1], w);
  const corner = kind === "rc" ? w / Math.sqrt(2 ** (1 / order) - 1) : w;
  let y = x;
  for (let k = 0; k < (kind === "rc" ? order : 1); k++) y = biquad(y, dt, [corner, 0, 0], [corner, 1, 0], corner);
  return y;
}

/** (b0 + b1 s + b2 s^2) / (a0 + a1 s + a2 s^2) by the bilinear transform, exact at the rate w. */
function biquad(
  x: Float64Array,
  dt: number,
  [b0, b1, b2]: readonly [number, number, number],
  [a0, a1, a2]: readonly [number, number, number],
  w: number,
): Float64Array {
  const c = w / Math.tan((w * dt) / 2);
  const at = ([p, q, r]: readonly number[]): [number, number, number] => [
    p! + q! * c + r! * c * c,
    2 * p! - 2 * r! * c * c,
    p! - q! * c + r! * c * c,
  ];
  const [n0, n1, n2] = at([b0, b1, b2]);
  const [d0, d1, d2] = at([a0, a1, a2]);
  const y = new Float64Array(x.length);
  let [x1, x2, y1, y2] = [x[0]!, x[0]!, (x[0]! * b0) / a0, (x[0]! * b0) / a0];
  for (let i = 0; i < x.length; i++) {
    y[i] = (n0 * x[i]! + n1 * x1 + n2 * x2 - d1 * y1 - d2 * y2) / d0;
    [x2, x1, y2, y1] = [x1, x[i]!, y1, y[i]!];
  }
  return y;
}

/** A file of the arm at rest in which a mass hangs from 3 to 8 s at a place of the arm base. */
export function simulateKnownMass(
  settings: StandSettings,
  hung: { readonly mass: number; readonly at: Vector3 },
  seed: number,
): BenchReading {
  return still(settings, 11, seed, (time) => {
    if (time < 3 || time >= 8) return null;
    const weight = hung.mass * standardGravity;
    return { force: [0, 0, -weight], at: hung.at };
  });
}

/** A file of the arm at rest in which it is struck once, after 1.5 s: half a sine of 4 ms. */
export function simulateTap(
  settings: StandSettings,
  blow: { readonly at: Vector3; readonly along: "x" | "y" | "z"; readonly size: number },
  seed: number,
): BenchReading {
  const long = 0.004;
  return still(settings, 5, seed, (time) => {
    const since = time - 1.5;
    if (since < 0 || since > long) return null;
    const push = blow.size * Math.sin((Math.PI * since) / long);
    return { force: [0, 1, 2].map((k) => ("xyz"[k] === blow.along ? push : 0)) as unknown as Vector3, at: blow.at };
  });
}

function still(
  settings: StandSettings,
  seconds: number,
  seed: number,
  load: (time: number) => { readonly force: Vector3; readonly at: Vector3 } | null,
): BenchReading {
  const { sensor } = settings;
  const every = Math.max(1, Math.round(innerRate / sensor.rate));
  const dt = 1 / (sensor.rate * every);
  const times = Float64Array.from({ length: Math.floor(seconds * sensor.rate) * every }, (_, i) => i * dt);
  const resting = { ...settings, rest: [seconds + 1, 0] as const };
  let columns = exerted(resting, times);
  for (const [i, time] of times.entries()) {
    const own = load(time);
    if (own === null) continue;
    const [fx, fy, fz] = own.force;
    const [x, y, z] = own.at;
    const more = [fx, fy, fz, y * fz - z * fy, z * fx - x * fz, x * fy - y * fx];
    for (let c = 0; c < 6; c++) columns[c]![i]! += more[c]!;
  }
  if (settings.fixture !== null) columns = columns.map((column) => secondOrder(column, dt, settings.fixture!));
  columns = columns.map((column) => column.filter((_, i) => i % every === 0));
  const t = Float64Array.from({ length: columns[0]!.length }, (_, i) => i / sensor.rate);
  const read = readBySensor(columns, t, sensor, seed);
  const reading: BenchReading = {
    t,
    wrench: Object.fromEntries(benchChannels.map((name, c) => [name, read[c]!])) as BenchReading["wrench"],
    sequence: null,
    status: null,
    arm: null,
    marks: null,
  };
  return addStandFaults(reading, resting, seed);
}
