import { type SignalName, signalNames } from "../../foundation/signals.ts";
import { mean } from "../../numeric/mean.ts";
import { eulerFromQuaternion } from "../../numeric/quaternion/eulerFromQuaternion.ts";
import type { Candidate } from "../../report/draft/candidates.ts";
import { gyroDown, type RoleDraft } from "../../report/draft/draftSignals.ts";
import { type Body, byNames, isCommand, turnsAlike } from "./bodies.ts";
import { findArm, frameWords } from "./findArm.ts";
import { findEstimate, findVehicle } from "./findVehicle.ts";
import { gyroAgreement } from "./gyroAgreement.ts";
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
 * @returns `turnsAsGyro`: the vehicle found turns as a gyro of the log says
 */
export function findRoles(
  candidates: readonly Candidate[],
  streams: readonly Stream[],
): { readonly roles: Roles; readonly turnsAsGyro: boolean } {
  const roles = new Map<SignalName, Role>();
  const points = streams.filter(({ point }) => point !== null);
  const traits = new Map(points.map((stream) => [stream, traitsOf(stream.point!)]));
  const rates = byNames(
    "vehicle_rate",
    streams.filter((stream) => stream.rates !== null),
  );
  const all = points.map((stream): Body => {
    const gyro = stream.pose === null || rates[0] === undefined ? null : gyroAgreement(rates[0], stream.pose);
    return { stream, point: stream.point!, traits: traits.get(stream)!, gyro };
  });
  const bodies = all.filter((body) => (body.gyro?.share ?? 0) >= turnsAlike || !isCommand(body.stream, body.traits));
  const commands = all.filter((body) => !bodies.includes(body)).map(({ stream }) => stream);
  const found = findVehicle(bodies, commands);
  const { vehicle, setpoint } = found;
  put(roles, "vehicle_pose", vehicle?.stream ?? null, found.bodiesAsked);
  put(roles, "vehicle_setpoint", setpoint, found.setpointsAsked, {
    also: found.twins.map(({ candidate }) => candidate.name),
    units: yawUnit(setpoint, vehicle),
  });
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
  if (arm.effector !== null) put(roles, "effector_pose", arm.effector.stream, []);
  if (arm.command !== null) {
    roles.set("effector_command", {
      chosen: arm.command.candidate,
      also: [],
      parts: [`frame: ${arm.frame ?? "<FRAME>"}`],
      remarks: arm.remarks,
    });
  }
  const [gyro] = rates;
  if (gyro !== undefined) {
    const sight = vehicle?.gyro ?? null;
    const turned = sight !== null && sight.share >= turnsAlike && sight.frd && !gyro.candidate.down;
    roles.set("vehicle_rate", {
      chosen: gyro.candidate,
      also: rates.slice(1).map(({ candidate }) => candidate.name),
      parts: turned ? [gyroDown] : [],
      units: sight !== null && sight.share >= turnsAlike ? { rate: sight.unit } : {},
      remarks: [
        ...(turned ? ["its y and z turn against the body's: forward, right, down"] : []),
        ...(sight === null || sight.share >= turnsAlike ? [] : ["does not turn as the vehicle's pose does"]),
      ],
    });
  }
  if (estimate !== null)
    roles.set("vehicle_estimate", { chosen: estimate.stream.candidate, also: [], parts: [], remarks: [] });
  addByName(roles, candidates, points.length === 0);
  const turnsAsGyro = (vehicle?.gyro?.share ?? 0) >= turnsAlike;
  return { roles: withMillimetres(withOthers(roles, others, arm.effector), streams), turnsAsGyro };
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

/** A topic whose numbers are too large for metres says its unit. */
function withMillimetres(roles: Roles, streams: readonly Stream[]): Roles {
  const large = new Set(streams.flatMap(({ millimetres, candidate }) => (millimetres ? [candidate] : [])));
  return new Map(
    [...roles].map(([signal, role]): [SignalName, Role] => {
      if (role.chosen === null || !large.has(role.chosen)) return [signal, role];
      const remarks = ["mm by the size of the numbers", ...role.remarks];
      return [signal, { ...role, parts: ["units: { position: mm }", ...role.parts], remarks }];
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
