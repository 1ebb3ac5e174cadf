import type { RateGrid } from "../../alignment/clock/rateGrid.ts";
import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import { mean } from "../../numeric/descriptive.ts";
import { eulerFromQuaternion } from "../../numeric/quaternion.ts";
import type { Candidate } from "../../report/draft/candidates.ts";
import { gyroDown, type RoleDraft } from "../../report/draft/draftSignals.ts";
import { type Body, byNames, isCommand, turnsAlike } from "./bodies.ts";
import { findEstimate, findVehicle } from "./findVehicle.ts";
import { findArm, frameWords } from "./groupShapes.ts";
import { gyroAgreement, turnsOfGyro } from "./gyroAgreement.ts";
import type { Stream } from "./streams.ts";
import { attitudeAt, traitsOf } from "./traits.ts";

/** What was found for a signal. */
export type Role = RoleDraft;
export type Roles = ReadonlyMap<SignalName, Role>;

/**
 * Which of a log's candidates is the vehicle, the setpoint, the arm's tool and its command, the gyro and the estimate: by what
 * they show. The vehicle turns as its gyro says and flies its setpoint; a command holds still to the last digit; the tool hangs
 * on the vehicle and moves as it is asked. Names decide only between what the data leave open, and where they do not either the
 * signal is asked for, with what it lies between.
 *
 * @param candidates  whatever could serve a signal
 * @param streams     those of them that could be read
 * @returns `gyro`: how the vehicle found turns beside a gyro of the log; null where it does not turn so, `gyroApart` where both were
 *   seen to turn
 */
export function findRoles(
  candidates: readonly Candidate[],
  streams: readonly Stream[],
): { readonly roles: Roles; readonly gyro: Body["gyro"]; readonly gyroApart: boolean } {
  const roles = new Map<SignalName, Role>();
  const rates = byNames(
    "vehicle_rate",
    streams.filter((stream) => stream.rates !== null),
  );
  const turns = rates[0] === undefined ? null : turnsOfGyro(rates[0]);
  const all = streams.flatMap((stream) => bodyOf(stream, rates[0] ?? null, turns) ?? []);
  const bodies = all.filter((body) => (body.gyro?.share ?? 0) >= turnsAlike || !isCommand(body.stream, body.traits));
  const commands = all.filter((body) => !bodies.includes(body)).map(({ stream }) => stream);
  const found = findVehicle(bodies, commands);
  const { vehicle, setpoint } = found;
  put(roles, "vehicle_pose", vehicle?.stream ?? null, found.bodiesAsked, anglesOf(vehicle));
  const taken = new Set<Stream>([
    ...(vehicle === null ? [] : [vehicle.stream]),
    ...(setpoint === null ? [] : [setpoint]),
  ]);
  const like = vehicle === null ? bodies.filter(({ stream }) => found.bodiesAsked.includes(stream)) : [vehicle];
  const estimate = findEstimate(like, bodies, rates[0] ?? setpoint);
  if (estimate !== null) taken.add(estimate.stream);
  const others = bodies.filter(({ stream }) => !taken.has(stream) && !found.bodiesAsked.includes(stream));
  const arm = findArm(
    vehicle,
    others,
    commands.filter((stream) => !taken.has(stream)),
    setpoint,
  );
  // what moves the arm is not asked about again
  const asked = found.setpointsAsked.filter((stream) => stream !== arm.command);
  put(roles, "vehicle_setpoint", setpoint, asked, {
    also: found.twins.map(({ candidate }) => candidate.name),
    units: yawUnit(setpoint, vehicle),
  });
  if (arm.effector !== null) put(roles, "effector_pose", arm.effector.stream, []);
  if (arm.command !== null) {
    roles.set("effector_command", {
      chosen: arm.command.candidate,
      also: [],
      parts: [`frame: ${arm.frame ?? "<FRAME>"}`],
      remarks: arm.remarks,
      ...(arm.base === null ? {} : { armBase: arm.base }),
    });
  }
  if (rates[0] !== undefined) roles.set("vehicle_rate", rateRole(rates, vehicle?.gyro ?? null));
  if (estimate !== null)
    roles.set("vehicle_estimate", { chosen: estimate.stream.candidate, also: [], parts: [], remarks: [] });
  addByName(roles, candidates, all.length === 0);
  return {
    roles: withLengthUnits(withOthers(roles, others, arm.effector), streams),
    gyro: vehicle !== null && turnsAsSaid(vehicle.gyro) ? vehicle.gyro : null,
    gyroApart: vehicle !== null && vehicle.gyro !== null && !turnsAsSaid(vehicle.gyro),
  };
}

/** A stream as a body, with how it turns beside a gyro; null where it has no place. */
function bodyOf(stream: Stream, gyroStream: Stream | null, turns: RateGrid | null): Body | null {
  const { point, pose, poseInDegrees } = stream;
  if (point === null) return null;
  const gyro = pose === null || turns === null ? null : gyroAgreement(turns, gyroStream!, stream);
  const inDegrees = gyro?.angle === "deg" && poseInDegrees !== undefined;
  return { stream: inDegrees ? { ...stream, pose: poseInDegrees } : stream, point, traits: traitsOf(point), gyro };
}

function turnsAsSaid(sight: Body["gyro"]): sight is NonNullable<Body["gyro"]> {
  return sight !== null && sight.share >= turnsAlike;
}

/** Of angles of which nothing says the unit the one in which the vehicle turns as its gyro says. */
function anglesOf(vehicle: Body | null): Partial<Role> {
  const sight = vehicle?.gyro ?? null;
  if (!turnsAsSaid(sight) || sight.angle === null) return {};
  return { units: { angle: sight.angle }, remarks: [`${sight.angle} as the gyro turns`] };
}

/** @param sight  how the vehicle turns beside the first of the gyros */
function rateRole([gyro, ...others]: readonly Stream[], sight: Body["gyro"]): Role {
  const { candidate } = gyro!;
  const isSeen = turnsAsSaid(sight);
  const turned = isSeen && sight.frd && !candidate.down;
  const inDegrees = isSeen && sight.unit === "deg/s" && candidate.request.columns === undefined;
  return {
    chosen: candidate,
    also: others.map((other) => other.candidate.name),
    parts: [...(inDegrees ? ["units: { rate: deg/s }"] : []), ...(turned ? [gyroDown] : [])],
    units: isSeen ? { rate: sight.unit } : {},
    remarks: [
      ...(inDegrees ? ["deg/s as the vehicle's pose turns"] : []),
      ...(turned ? ["its y and z turn against the body's: forward, right, down"] : []),
      ...(sight === null || isSeen ? [] : ["does not turn as the vehicle's pose does"]),
    ],
  };
}

/** A table and a point file have no topics. */
const kindsOfAsking: Readonly<Record<string, NonNullable<Role["asks"]>>> = { columns: "columns", markers: "markers" };

function put(
  roles: Map<SignalName, Role>,
  signal: SignalName,
  stream: Stream | null,
  asked: readonly Stream[],
  more: Partial<Role> = {},
): void {
  const none = { also: [], parts: [], remarks: [] };
  if (stream !== null) roles.set(signal, { ...none, ...more, chosen: stream.candidate });
  else if (asked.length > 0)
    roles.set(signal, {
      ...none,
      chosen: null,
      also: asked.map(({ candidate }) => candidate.name),
      asks: kindsOfAsking[asked[0]!.candidate.type] ?? "topic",
    });
}

/** Of a yaw whose unit nothing says the one in which the vehicle looks where it is asked to; none where either does. */
function yawUnit(setpoint: Stream | null, vehicle: Body | null): Readonly<Record<string, string>> {
  const pose = vehicle?.stream.pose ?? null;
  if (setpoint?.yaw == null || pose === null || setpoint.candidate.request.units?.angle !== undefined) return {};
  const measured = Array.from(setpoint.t, (t) => eulerFromQuaternion(attitudeAt(pose, t)).yaw);
  const apart = (scale: number): number =>
    mean(setpoint.yaw!.map((yaw, i) => Math.abs(Math.sin((scale * yaw - measured[i]!) / 2))));
  const [degrees, radians] = [apart(Math.PI / 180), apart(1)];
  return degrees < 0.3 * radians ? { angle: "deg" } : radians < 0.3 * degrees ? { angle: "rad" } : {};
}

/**
 * What motion does not tell apart: joints, battery and motors; and, of a log in which too little was logged to show any, all else.
 *
 * @param isShort  no motion could be read
 */
function addByName(roles: Map<SignalName, Role>, candidates: readonly Candidate[], isShort: boolean): void {
  const taken = new Set([...roles.values()].map(({ chosen }) => chosen));
  for (const signal of isShort ? signalNames : (["arm_phase", "battery", "motors"] as const)) {
    if (roles.has(signal)) continue;
    // the arm's command in metres shows its phase, too
    if (signal === "arm_phase" && roles.has("effector_command")) continue;
    const able = candidates.filter((candidate) => candidate.couldBe.includes(signal) && !taken.has(candidate));
    const speaks = (candidate: Candidate): number => candidate.speaks[signal] ?? 0;
    const [first] = [...able].sort((a, b) => speaks(b) - speaks(a) || b.messages - a.messages);
    if (first === undefined || !(speaks(first) > 0)) continue;
    const parts = signal === "effector_command" ? ["frame: <FRAME>"] : [];
    const also = signal === "arm_phase" ? able.flatMap((one) => (one === first ? [] : [one.name])) : [];
    const remarks = signal === "effector_command" ? [frameWords] : signal === "arm_phase" ? [phaseWords] : [];
    roles.set(signal, { chosen: first, also, parts, remarks });
    taken.add(first);
  }
}

const phaseWords =
  "moves with the arm, in any unit: windows and cycles come from it; the effector is judged only by its command in metres";

/** A body that is logged in another unit than metres says which; which of two it is asks a person. */
function withLengthUnits(roles: Roles, streams: readonly Stream[]): Roles {
  const found = new Map(
    streams.flatMap(({ length, candidate }) => (length === undefined ? [] : [[candidate, length] as const])),
  );
  return new Map(
    [...roles].map(([signal, role]): [SignalName, Role] => {
      const length = role.chosen === null ? undefined : found.get(role.chosen);
      if (length === undefined) return [signal, role];
      const remarks = [length.words, ...role.remarks];
      if (role.chosen!.request.columns === undefined)
        return [
          signal,
          { ...role, parts: [`units: { position: ${length.unit ?? "<UNIT>"} }`, ...role.parts], remarks },
        ];
      return [
        signal,
        { ...role, ...(length.unit === null ? {} : { units: { ...role.units, position: length.unit } }), remarks },
      ];
    }),
  );
}

/** Bodies that are nothing stand beside the vehicle: a person sees what was not taken. */
function withOthers(roles: Map<SignalName, Role>, others: readonly Body[], effector: Body | null): Roles {
  const left = others.filter((body) => body !== effector).map(({ stream }) => stream.candidate.name);
  const vehicle = roles.get("vehicle_pose");
  if (vehicle !== undefined && vehicle.chosen !== null && left.length > 0)
    roles.set("vehicle_pose", { ...vehicle, also: left });
  return roles;
}
