import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, type PoseTrack, type Subject, type Window } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { plainSum, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { rotateVector } from "../numeric/quaternion.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { FrameFacts } from "./describeFaults.ts";
import { meanUpInBody } from "./frames.ts";
import { meanYaw } from "./heading.ts";
import type { SubjectTrack } from "./subjectTracks.ts";
import { yawCheck } from "./yawCheck.ts";

/** How many of a unit make a metre, and its name: what lengths are mistaken for. International foot and inch: 0.3048 m, 0.0254 m. */
const units = [
  [1000, "millimetres"],
  [100, "centimetres"],
  [1 / 0.0254, "inches"],
  [1 / 0.3048, "feet"],
] as const;

/** Shorter vectors than this show no ratio, metres; a ratio must hold to this share. */
const shortest = 0.03;
const share = 0.1;

/**
 * Whether one place is the other in another unit of length: as far in the same direction but for a known ratio.
 *
 * @param measured  where the body stands on average, metres as declared
 * @param asked     where it was told to be
 * @returns what to say of it, such as "measured positions are 39.4 times the commanded ones: inches taken for metres?"
 */
function unitCause(measured: Vector3, asked: Vector3): string | null {
  const [m, a] = [Math.hypot(...measured), Math.hypot(...asked)];
  if (Math.min(m, a) < shortest) return null;
  const dot = measured[0] * asked[0] + measured[1] * asked[1] + measured[2] * asked[2];
  if (dot < Math.cos(share) * m * a) return null;
  for (const [ratio, name] of units) {
    if (Math.abs(m / a / ratio - 1) < share)
      return `measured positions are ${(m / a).toPrecision(3)} times the commanded ones: ${name} taken for metres in the capture?`;
    if (Math.abs(a / m / ratio - 1) < share)
      return `commanded positions are ${(a / m).toPrecision(3)} times the measured ones: ${name} taken for metres in the command?`;
  }
  return null;
}

/**
 * Checks of axes, handedness and roles against physics: a hovering vehicle is level, and stands where it was commanded.
 * Nothing is turned on suspicion; what looks wrong is said.
 */
export function frameChecks(facts: FrameFacts, settings: Settings): Check[] {
  const tilted = levelCheck(facts.vehicle, settings);
  if (tilted !== null) return [tilted];
  const exchanged = exchangeCheck(facts, settings);
  return exchanged.length > 0
    ? exchanged
    : [
        ...offsetCheck(facts, settings),
        ...armCheck(facts, settings),
        ...bodyPointCheck(facts, settings),
        ...yawCheck(facts, settings),
      ];
}

function levelCheck(vehicle: PoseTrack, settings: Settings): Check | null {
  const up = meanUpInBody(vehicle);
  if (up[2] > settings.level_cosine) return null;
  const length = Math.hypot(up[0], up[1], up[2]);
  const tilt = (Math.acos(Math.max(-1, Math.min(1, up[2] / Math.max(length, 1e-9)))) * 180) / Math.PI;
  return {
    code: "frame-suspect",
    severity: "unusable",
    message: `by its attitude the vehicle flies tilted by ${tilt.toFixed(0)} degrees on average (steadiness ${length.toFixed(2)} of 1); a multirotor hovers level`,
    evidence: { mean_up_x: up[0], mean_up_y: up[1], mean_up_z: up[2] },
    hint: "check the order of the quaternion (x y z w), the capture world's up (`frames: world: up`), and the axes of the body in the capture software",
  };
}

type Mean = readonly [number, number, number];

/** Mean of three columns without NaN in a window; null for fewer than ten samples. */
function meanIn(t: Float64Array, columns: readonly Float64Array[], window: Window | null): Mean | null {
  const [x, y, z] = columns as readonly [Float64Array, Float64Array, Float64Array];
  const from = window === null ? 0 : lowerBound(t, window[0]);
  const to = window === null ? t.length : lowerBound(t, window[1]);
  const n = to - from;
  if (n < 10) return null;
  const mean: Mean = [plainSum(x, from, to) / n, plainSum(y, from, to) / n, plainSum(z, from, to) / n];
  return mean.every(Number.isFinite) ? mean : null;
}

const size = ([x, y, z]: Mean): number => Math.hypot(x, y, z);
const minus = (a: Mean, b: Mean): Mean => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

/** Whether nearly every error in a window is longer than `least`: wrong axes are wrong throughout, a vehicle that runs away is not. */
function isThroughout({ t, error: { x, y, z } }: SubjectTrack, window: Window | null, least: number): boolean {
  const from = window === null ? 0 : lowerBound(t, window[0]);
  const to = window === null ? t.length : lowerBound(t, window[1]);
  let beyond = 0;
  for (let i = from; i < to; i++) if (x[i]! * x[i]! + y[i]! * y[i]! + z[i]! * z[i]! > least * least) beyond++;
  return beyond > 0.95 * (to - from);
}

/** Whether the two bodies' topics are exchanged: each stands where the other should. */
function exchangeCheck({ vehicle, tool, subjects, scored }: FrameFacts, settings: Settings): Check[] {
  const own = subjects.vehicle;
  const effector = subjects.effector;
  if (!own || !effector || tool === null) return [];
  const vehicleError = meanIn(own.t, [own.error.x, own.error.y, own.error.z], scored);
  const effectorError = meanIn(effector.t, [effector.error.x, effector.error.y, effector.error.z], scored);
  const body = meanIn(vehicle.t, [vehicle.x, vehicle.y, vehicle.z], scored);
  const point = meanIn(tool.t, [tool.x, tool.y, tool.z], scored);
  if (!vehicleError || !effectorError || !body || !point) return [];
  const setpoint = minus(body, vehicleError);
  const asked = minus(point, effectorError);
  const now = size(vehicleError) + size(effectorError);
  const exchanged = size(minus(point, setpoint)) + size(minus(body, asked));
  if (!(size(vehicleError) > 0.1 && size(effectorError) > 0.1 && exchanged < settings.reading_explains * now))
    return [];
  return [
    {
      code: "swap",
      severity: "unusable",
      message: `vehicle and effector look exchanged: they stand ${size(vehicleError).toFixed(2)} and ${size(effectorError).toFixed(2)} m from where they were asked to be, but each stands where the other should`,
      evidence: {
        vehicle_off_m: size(vehicleError),
        effector_off_m: size(effectorError),
        both_off_if_exchanged_m: exchanged,
      },
      hint: "exchange the topics of vehicle_pose and effector_pose in the manifest, or look whether the capture took one body for the other",
    },
  ];
}

/** Other ways to read a capture's axes that are often meant. */
const readings: readonly { readonly name: string; readonly of: (p: Mean) => Mean }[] = [
  { name: "a capture world with y up (`frames: world: up: y`)", of: ([x, y, z]) => [x, -z, y] },
  { name: "north-east-down axes", of: ([x, y, z]) => [y, x, -z] },
  { name: "axes turned by 180 degrees about x", of: ([x, y, z]) => [x, -y, -z] },
  { name: "x and y exchanged", of: ([x, y, z]) => [y, x, z] },
];

function offsetCheck({ vehicle, subjects, scored }: FrameFacts, settings: Settings): Check[] {
  const own = subjects.vehicle;
  if (!own) return [];
  const error = meanIn(own.t, [own.error.x, own.error.y, own.error.z], scored);
  const body = meanIn(own.t, [own.measured.x, own.measured.y, own.measured.z], scored);
  if (!error || !body || size(error) < settings.implausible_offset) return [];
  const setpoint = minus(body, error);
  const unit = unitCause(body, setpoint);
  const reading = readings.find(
    ({ of }) => size(minus(of(body), setpoint)) < Math.min(settings.reading_explains * size(error), 0.15),
  );
  const gross = size(error) >= settings.gross_offset && isThroughout(own, scored, settings.implausible_offset);
  const cause = unit ?? (reading === undefined ? null : `read as ${reading.name} the distance would vanish`);
  return [
    {
      code: "frame-suspect",
      severity: cause !== null || gross ? "unusable" : "doubt",
      message: `the vehicle stands ${size(error).toFixed(2)} m from its setpoint on average${cause === null ? "" : `; ${cause}`}`,
      evidence: {
        off_x_m: error[0],
        off_y_m: error[1],
        off_z_m: error[2],
        poses: vehicle.t.length,
        vanishes_as: reading?.name ?? null,
      },
      hint: "check the axes and origin of the capture against the onboard world (`frames: onboard`, per block where it was set again), and whether the vehicle got to its setpoint at all",
      touches: { subjects: ["vehicle", "effector"] },
    },
  ];
}

/**
 * Whether the tool stands where the arm was told to be: a tool point or arm base off by centimetres, or a turned tool frame. Where
 * the vehicle's attitude is not known, what its own distance from the setpoint leaves of the tool's, along the world's axes.
 */
function armCheck({ subjects, scored }: FrameFacts, settings: Settings): Check[] {
  const meanOf = (subject: Subject): Mean | null => {
    const track = subjects[subject];
    return track === undefined ? null : meanIn(track.t, [track.error.x, track.error.y, track.error.z], scored);
  };
  const [arm, effector, vehicle] = [meanOf("arm"), meanOf("effector"), meanOf("vehicle")];
  const error = arm ?? (effector === null || vehicle === null ? null : minus(effector, vehicle));
  if (error === null || size(error) < settings.implausible_arm_offset) return [];
  const causes = (["arm", "effector"] as const).map((subject): string | null => {
    const off = subject === "arm" ? arm : effector;
    const track = subjects[subject];
    const place = track && meanIn(track.t, [track.measured.x, track.measured.y, track.measured.z], scored);
    return off && place ? unitCause(place, minus(place, off)) : null;
  });
  const cause = causes.find((one) => one !== null) ?? null;
  return [
    {
      code: "frame-suspect",
      // no arm of a multirotor is that long
      severity: cause !== null || size(error) >= settings.gross_offset ? "unusable" : "doubt",
      message: `${arm === null ? "less what the vehicle is off" : "seen from the vehicle"}, the tool stands ${(1e3 * size(error)).toFixed(0)} mm from where the arm was asked to be on average${cause === null ? "" : `; ${cause}`}`,
      evidence: { off_x_m: error[0], off_y_m: error[1], off_z_m: error[2] },
      hint: "check `tool_point` and `arm_base`, the frame of the effector command, the quaternion order of the effector's pose, and whether the arm moved at all",
      touches: { subjects: ["effector", "arm"] },
    },
  ];
}

/**
 * Whether the vehicle's markers lie beside its body point: then it stands that far from its setpoint, and the tool, seen from it, as
 * far the other way from where the arm was told to be. Along the offset that is a bias; across it every tilt swings the markers.
 */
function bodyPointCheck(
  { vehicle, turned, subjects, scored, vehicleSmallest }: FrameFacts,
  settings: Settings,
): Check[] {
  const { vehicle: own, arm } = subjects;
  if (!turned || own === undefined || arm === undefined) return [];
  const off = meanIn(arm.t, [arm.error.x, arm.error.y, arm.error.z], scored);
  const error = meanIn(own.t, [own.error.x, own.error.y, own.error.z], scored);
  const yaw = meanYaw(vehicle, scored);
  if (off === null || error === null || yaw === null) return [];
  const [cosine, sine] = [Math.cos(yaw), Math.sin(yaw)];
  const seen: Mean = [cosine * error[0] + sine * error[1], cosine * error[1] - sine * error[0], error[2]];
  const opposite = size([seen[0] + off[0], seen[1] + off[1], seen[2] + off[2]]);
  if (size(off) < settings.body_point_off || opposite > settings.reading_explains * size(off)) return [];
  const swings = swingOf(vehicle, seen, scored);
  const matters = axes.filter(
    (_, axis) => vehicleSmallest === null || swings[axis]! > settings.body_point_share * vehicleSmallest,
  );
  if (matters.length === 0) return [];
  const [x, y, z] = seen.map((metres) => (1e3 * metres).toFixed(0));
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `the vehicle's markers seem to lie ${(1e3 * size(seen)).toFixed(0)} mm beside its body point (${x}, ${y}, ${z} mm): it stands that far from its setpoint, and the tool as far the other way from where the arm was told to be; as the vehicle tilts they swing by ${matters.map((axis) => `${(1e3 * swings[axes.indexOf(axis)]!).toFixed(1)} mm along ${axis}`).join(", ")} (sd)`,
      evidence: {
        off_x_m: seen[0],
        off_y_m: seen[1],
        off_z_m: seen[2],
        swing_x_m: swings[0],
        swing_y_m: swings[1],
        swing_z_m: swings[2],
      },
      hint: "declare `frames: body_point` (the control point in the vehicle's marker frame), or define the body about it in the capture",
      touches: { subjects: ["vehicle"], axes: matters, part: "all" },
    },
  ];
}

/** By how much a point of the body swings about its middle as the body turns, sd per axis, metres. */
function swingOf({ t, qx, qy, qz, qw }: PoseTrack, point: Mean, window: Window | null): Mean {
  const from = window === null ? 0 : lowerBound(t, window[0]);
  const to = window === null ? t.length : lowerBound(t, window[1]);
  const turned = Array.from({ length: to - from }, (_, i) => {
    const k = from + i;
    return rotateVector([qx[k]!, qy[k]!, qz[k]!, qw[k]!], point);
  });
  const sd = (axis: 0 | 1 | 2): number => sampleStandardDeviation(Float64Array.from(turned, (place) => place[axis]));
  return turned.length < 2 ? [0, 0, 0] : [sd(0), sd(1), sd(2)];
}
