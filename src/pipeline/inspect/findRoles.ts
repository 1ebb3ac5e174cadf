import { type SignalName, signalNames } from "../../foundation/signals.ts";
import type { PointTrack } from "../../foundation/tracks.ts";
import { mean } from "../../numeric/mean.ts";
import { eulerFromQuaternion } from "../../numeric/quaternion/eulerFromQuaternion.ts";
import type { Candidate } from "../../report/draft/candidates.ts";
import type { RoleDraft } from "../../report/draft/draftSignals.ts";
import { armWords, captureWords, commandWords, estimateWords } from "../../report/draft/nameSpeaks.ts";
import { type GyroAgreement, gyroAgreement } from "./gyroAgreement.ts";
import type { Stream } from "./streams.ts";
import { attitudeAt, columnsAt, likeness, type Relation, relationOf, type Traits, traitsOf } from "./traits.ts";

/** What was found for a signal. */
export type Role = RoleDraft;
export type Roles = ReadonlyMap<SignalName, Role>;

/** A command holds for a while without any change; what is measured never does, *common practice, no source*. */
const [heldLeast, repeatedLeast] = [0.8, 0.2];
/** A setpoint is flown to within this, metres; a body of another place in the room is further away. */
const flownWithin = 0.5;
/** Of two bodies the nearer to a setpoint flies it, where the other is further by this much, metres. */
const clearlyNearer = 0.03;
/** A body turns as the gyro says from this agreement on, and one that turns less so by this much is another. */
const [turnsAlike, turnsLess] = [0.5, 0.15];
/** What hangs on the vehicle keeps its distance to this, metres; nor is it further off than an arm is long. */
const [armPlay, armLength] = [0.6, 2];
/** What moves as the arm is asked to has this much in common with its command. */
const movesAlike = 0.7;

interface Body {
  readonly stream: Stream;
  readonly point: PointTrack;
  readonly traits: Traits;
  readonly gyro: GyroAgreement | null;
}

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
      parts: turned ? ["axes: { body: frd }"] : [],
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
  return { roles: withOthers(roles, others, arm.effector), turnsAsGyro };
}

/** What a type says, then a name of the trade, then a stretch of rest; a name that says "goal" of what the gyro turns with lies. */
function isCommand({ candidate }: Stream, { held, repeats, reach }: Traits): boolean {
  const { couldBe, name } = candidate;
  if (!couldBe.some((signal) => signal === "vehicle_setpoint" || signal === "effector_command")) return false;
  if (!couldBe.includes("vehicle_pose")) return true;
  if (commandWords.test(name)) return true;
  // what was never seen stands in one place, too
  if (reach === 0 && captureWords.test(name)) return false;
  return held >= heldLeast && repeats >= repeatedLeast;
}

/** Those whose names speak most for a signal first, then those with more messages. */
function byNames<T extends Stream>(signal: SignalName, streams: readonly T[]): T[] {
  const speaks = ({ candidate }: Stream): number => candidate.speaks[signal] ?? -1;
  return [...streams].sort((a, b) => speaks(b) - speaks(a) || b.candidate.messages - a.candidate.messages);
}

/** The estimate that the vehicle reckons of itself is no capture, however near the truth it is. */
function isEstimate({ name, type, down }: Candidate): boolean {
  if (captureWords.test(name)) return false;
  return down || estimateWords.test(name) || /Odometry$/.test(type);
}

/** A vehicle that hovers within millimetres turns as its gyro says all the same. */
function rests({ traits, gyro }: Body): boolean {
  return traits.rests && (gyro?.share ?? 0) < turnsAlike;
}

interface FoundVehicle {
  readonly vehicle: Body | null;
  readonly setpoint: Stream | null;
  /** what nothing told apart */
  readonly bodiesAsked: readonly Stream[];
  readonly setpointsAsked: readonly Stream[];
  /** other topics that say the same setpoint */
  readonly twins: readonly Stream[];
}

/** The body that turns as the gyro says, moves, and flies a setpoint; and that setpoint. */
function findVehicle(bodies: readonly Body[], commands: readonly Stream[]): FoundVehicle {
  const independent = bodies.filter(({ stream }) => !isEstimate(stream.candidate));
  const moving = independent.filter((body) => !rests(body));
  let left = moving.length > 0 ? moving : independent;
  const best = Math.max(0, ...left.map(({ gyro }) => gyro?.share ?? 0));
  if (best >= turnsAlike) left = left.filter(({ gyro }) => (gyro?.share ?? 0) >= best - turnsLess);
  const pairs = pairsOf(left.length > 0 ? left : independent, commands);
  const setpoints = byNames("vehicle_setpoint", commands);
  if (pairs.length === 0) {
    const byName = clearOne(
      "vehicle_pose",
      left.map(({ stream }) => stream),
    );
    const vehicle = left.length === 1 ? left[0]! : (left.find(({ stream }) => stream === byName) ?? null);
    const setpoint =
      setpoints.length === 1 && !isArms(setpoints[0]!) ? setpoints[0]! : clearOne("vehicle_setpoint", setpoints);
    return {
      vehicle,
      setpoint,
      bodiesAsked: vehicle === null ? left.map(({ stream }) => stream) : [],
      setpointsAsked: setpoint === null ? setpoints : [],
      twins: [],
    };
  }
  const { body, command } = flownPair(pairs);
  const nearest = pairs.filter((pair) => pair.command === command);
  const near = nearest.filter(
    ({ distance }) => distance <= Math.max(2 * nearest[0]!.distance, nearest[0]!.distance + clearlyNearer),
  );
  const named =
    near.length === 1
      ? near[0]!.body.stream
      : clearOne(
          "vehicle_pose",
          near.map((pair) => pair.body.stream),
        );
  const vehicle = named === null ? null : (near.find((pair) => pair.body.stream === named)?.body ?? body);
  const same = byNames("vehicle_setpoint", [
    ...new Set(pairs.filter((pair) => pair.body === (vehicle ?? body)).map((pair) => pair.command)),
  ]);
  const twins = same.filter((stream) => !isArms(stream));
  return {
    vehicle,
    setpoint: twins[0] ?? command,
    bodiesAsked: vehicle === null ? near.map((pair) => pair.body.stream) : [],
    setpointsAsked: [],
    twins: twins.slice(1),
  };
}

interface Pair {
  readonly body: Body;
  readonly command: Stream;
  readonly distance: number;
}

/** Bodies and the commands that they are near, the nearest first. */
function pairsOf(bodies: readonly Body[], commands: readonly Stream[]): Pair[] {
  return bodies
    .flatMap((body) =>
      commands.flatMap((command): Pair[] => {
        const distance = relationOf(body.point, command.point!)?.distance ?? Number.POSITIVE_INFINITY;
        return distance <= flownWithin ? [{ body, command, distance }] : [];
      }),
    )
    .sort((a, b) => a.distance - b.distance);
}

/**
 * Of pairs of bodies and commands the one that is the vehicle's: where a tool is commanded in the world as well, that of which
 * no name speaks of an arm, else the one whose command moves less.
 */
function flownPair(pairs: readonly Pair[]): Pair {
  const ofEach = new Map<Body, Pair>();
  for (const pair of pairs)
    if (!ofEach.has(pair.body) && ![...ofEach.values()].some(({ command }) => command === pair.command))
      ofEach.set(pair.body, pair);
  const all = [...ofEach.values()];
  const free = all.filter(({ body, command }) => !isArms(body.stream) && !isArms(command));
  const left = free.length > 0 ? free : all;
  const reach = ({ command }: Pair): number => traitsOf(command.point!).reach;
  return [...left].sort((a, b) => reach(a) - reach(b) || a.distance - b.distance)[0]!;
}

function isArms({ candidate }: Stream): boolean {
  return (
    armWords.test(candidate.name) ||
    (candidate.speaks.effector_command ?? 0) >= 3 ||
    (candidate.speaks.effector_pose ?? 0) >= 3
  );
}

/** The one for which its name speaks more than any other's does; null where none is. */
function clearOne<T extends Stream>(signal: SignalName, streams: readonly T[]): T | null {
  const [first, second] = byNames(signal, streams);
  const speaks = (stream: T | undefined): number => stream?.candidate.speaks[signal] ?? -1;
  return first !== undefined && speaks(first) > 0 && speaks(first) > speaks(second) ? first : null;
}

/**
 * The vehicle's own reckoning of the same motion, on its own clock. A filter of the capture's host shows the capture's clock, and
 * would confirm any offset.
 *
 * @param like  bodies of which one is the vehicle
 */
function findEstimate(like: readonly Body[], bodies: readonly Body[], onboard: Stream | null): Body | null {
  const clock = onboard?.candidate.clock ?? null;
  const own = bodies.filter(({ stream, point, traits }) => {
    const { candidate } = stream;
    if (!isEstimate(candidate) || traits.rests) return false;
    const isCaptures = like.some((body) => body.stream.candidate.clock === candidate.clock);
    if (candidate.clock !== null && isCaptures && clock !== null && clock !== candidate.clock) return false;
    return like.every((body) => {
      if (body.stream.candidate.down !== candidate.down) return true;
      const relation = relationOf(point, body.point);
      if (relation === null) return true;
      return likeness(columnsAt(point, relation.t), columnsAt(body.point, relation.t)) > movesAlike;
    });
  });
  const [first] = byNames(
    "vehicle_estimate",
    own.map(({ stream }) => stream),
  );
  return own.find(({ stream }) => stream === first) ?? null;
}

interface Arm {
  readonly effector: Body | null;
  readonly command: Stream | null;
  readonly frame: "world" | "vehicle" | "arm_base" | null;
  readonly remarks: readonly string[];
}

/** What hangs on the vehicle, and what moves it. */
function findArm(
  vehicle: Body | null,
  others: readonly Body[],
  commands: readonly Stream[],
  setpoint: Stream | null,
): Arm {
  const asked = commands.filter((command) => {
    // another topic of the vehicle's own setpoint is never the arm's
    const apart = setpoint === null ? null : relationOf(command.point!, setpoint.point!);
    return apart === null || apart.distance > clearlyNearer || isArms(command);
  });
  const hanging = others.flatMap((body) => {
    const relation = vehicle === null ? null : relationOf(body.point, vehicle.stream.pose ?? vehicle.point);
    const hangs = relation !== null && relation.play < armPlay && relation.distance < armLength;
    return hangs && !rests(body) ? [{ body, relation }] : [];
  });
  const matches = hanging
    .flatMap(({ body, relation }) =>
      asked.map((command) => ({ body, relation, command, ...matchOf(body, relation, command) })),
    )
    .sort((a, b) => b.share - a.share);
  const [best] = matches;
  if (best !== undefined && best.share >= movesAlike) {
    const told = frameOf(best.command, best.body, best.relation);
    return { effector: best.body, command: best.command, frame: told.frame, remarks: told.remarks };
  }
  const named = hanging.filter(({ body }) => isArms(body.stream));
  const effector = named.length === 1 ? named[0]!.body : null;
  const command = clearOne("effector_command", asked.filter(isArms));
  return { effector, command, frame: null, remarks: [frameWords] };
}

const frameWords = "frame: world, vehicle or arm_base";

/** How alike a body's motion and a command are: seen from the vehicle, or in the world. */
function matchOf(body: Body, relation: Relation, command: Stream): { readonly share: number } {
  const asked = columnsAt(command.point!, relation.t);
  const seen = relation.body === null ? 0 : likeness(relation.body, asked);
  return { share: Math.max(seen, likeness(columnsAt(body.point, relation.t), asked)) };
}

/** A command near the tool in the room is one in the room; one far from it counts from the vehicle, or from the arm's base on it. */
function frameOf(command: Stream, body: Body, relation: Relation): Pick<Arm, "frame" | "remarks"> {
  const inWorld = relationOf(body.point, command.point!)?.distance ?? Number.POSITIVE_INFINITY;
  if (inWorld < 0.3) return { frame: "world", remarks: ["the tool is where the command is, in the room"] };
  if (relation.body === null) return { frame: null, remarks: [frameWords] };
  const asked = columnsAt(command.point!, relation.t);
  const middle = relation.body.map((column, axis) => medianOf(column.map((value, k) => value - asked[axis]![k]!)));
  const place = `[${middle.map((metres) => `${Math.round(1e3 * metres)} mm`).join(", ")}]`;
  // within the length of a tool that its markers may stand off by
  if (Math.hypot(...middle) < 0.06)
    return {
      frame: null,
      remarks: [`${frameWords}; the tool's markers are at ${place} from the command, as seen from the vehicle`],
    };
  return {
    frame: "arm_base",
    remarks: [
      `counted from ${place} of the vehicle, as the tool's markers show: arm_base is there, moved by tool_point`,
    ],
  };
}

function medianOf(values: Float64Array): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}

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
    roles.set(signal, { ...none, chosen: null, also: asked.map(({ candidate }) => candidate.name) });
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
 * What is not told apart by motion: battery and motors; and, of a log in which too little was logged to show any, all else.
 *
 * @param isShort  no motion could be read
 */
function addByName(roles: Map<SignalName, Role>, candidates: readonly Candidate[], isShort: boolean): void {
  const taken = new Set([...roles.values()].map(({ chosen }) => chosen));
  for (const signal of isShort ? signalNames : (["battery", "motors"] as const)) {
    if (roles.has(signal)) continue;
    const able = candidates.filter(
      (candidate) => candidate.couldBe.includes(signal) && !taken.has(candidate) && !isJoint(candidate),
    );
    const speaks = (candidate: Candidate): number => candidate.speaks[signal] ?? 0;
    const [first] = [...able].sort((a, b) => speaks(b) - speaks(a) || b.messages - a.messages);
    if (first === undefined || !(speaks(first) > 0)) continue;
    const parts = signal === "effector_command" ? ["frame: <FRAME>"] : [];
    roles.set(signal, { chosen: first, also: [], parts, remarks: parts.length > 0 ? [frameWords] : [] });
    taken.add(first);
  }
}

/** One number a joint is no place of a tool. */
function isJoint({ parts }: Candidate): boolean {
  return parts.includes("joint: <JOINT>");
}

/** Bodies that are nothing stand beside the vehicle: a person sees what was not taken. */
function withOthers(roles: Map<SignalName, Role>, others: readonly Body[], effector: Body | null): Roles {
  const left = others.filter((body) => body !== effector).map(({ stream }) => stream.candidate.name);
  const vehicle = roles.get("vehicle_pose");
  if (vehicle !== undefined && vehicle.chosen !== null && left.length > 0)
    roles.set("vehicle_pose", { ...vehicle, also: left });
  return roles;
}
