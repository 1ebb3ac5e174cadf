import { describe, expect, test } from "vitest";
import type { RecordedSignal } from "../../../src/foundation/recording.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { findRoles, type Roles } from "../../../src/pipeline/inspect/findRoles.ts";
import type { Stream } from "../../../src/pipeline/inspect/streams.ts";
import { type Candidate, nameSpeaks } from "../../../src/report/draft/candidates.ts";
import { shortFlight } from "../shortCampaign.ts";

const flight = shortFlight(31, {
  estimate: { rate: 50, positionNoise: 0.002, attitudeNoise: 0.002, delay: 0.05 },
});
const recorded = (signal: SignalName): RecordedSignal => flight.signals.find((each) => each.signal === signal)!;
const places: readonly SignalName[] = [
  "vehicle_pose",
  "effector_pose",
  "vehicle_setpoint",
  "effector_command",
  "vehicle_estimate",
];

function candidate(name: string, couldBe: readonly SignalName[], more: Partial<Candidate> = {}): Candidate {
  return {
    name,
    type: "geometry_msgs/PoseStamped",
    messages: 2000,
    rate: 100,
    couldBe,
    speaks: Object.fromEntries(couldBe.map((signal) => [signal, nameSpeaks(signal, name)])),
    parts: [`topic: ${name}`],
    remarks: [],
    request: { topic: name },
    clock: null,
    down: false,
    ...more,
  };
}

type Columns = Readonly<Record<string, Float64Array>>;
function stream(name: string, t: Float64Array, columns: Columns, more: Partial<Candidate> = {}): Stream {
  const { x, y, z, qx, qy, qz, qw, wx, wy, wz } = columns;
  const point = x && y && z ? { t, x, y, z } : null;
  return {
    candidate: candidate(name, point === null ? ["vehicle_rate"] : places, more),
    t,
    point,
    pose: point && qx && qy && qz && qw ? { ...point, qx, qy, qz, qw } : null,
    yaw: null,
    rates: wx && wy && wz ? [wx, wy, wz] : null,
  };
}
const of = (signal: SignalName, name: string, more: Partial<Candidate> = {}): Stream => {
  const { received, columns } = recorded(signal);
  return stream(name, received.seconds, columns, more);
};
/** A body that flies about by itself, and one that lies on the floor, as a capture sees them. */
function bystander(name: string, moves: boolean, seed = 5): Stream {
  const random = seededRandom(seed);
  const t = recorded("vehicle_pose").received.seconds;
  const noise = (): number => 2e-4 * random.normal();
  const place = (k: number): Float64Array =>
    t.map((at) => 0.4 * k + (moves ? 0.8 * Math.sin((0.7 + 0.2 * k) * at + k) : 0) + noise());
  const turn = t.map((at) => (moves ? 0.3 * Math.sin(1.3 * at) : 0));
  return stream(name, t, {
    x: place(0),
    y: place(1),
    z: place(2),
    qx: turn.map((angle) => Math.sin(angle / 2)),
    qy: t.map(() => 0),
    qz: t.map(() => 0),
    qw: turn.map((angle) => Math.cos(angle / 2)),
  });
}
const rolesOf = (streams: readonly Stream[]): Roles =>
  findRoles(
    streams.map((each) => each.candidate),
    streams,
  ).roles;
const chosen = (streams: readonly Stream[]): Record<string, string | null> =>
  Object.fromEntries([...rolesOf(streams)].map(([signal, role]) => [signal, role.chosen?.name ?? null]));
const named = (names: Readonly<Partial<Record<SignalName, string>>>): Stream[] =>
  (Object.entries(names) as [SignalName, string][]).map(([signal, name]) => of(signal, name));

// what the simulation flew: the truth of every case
describe("roles are found by what the data show", () => {
  test.each([
    ["that say nothing", ["/e", "/d", "/c", "/b", "/a"]],
    ["that lie", ["/mocap/tool", "/mocap/airframe", "/arm/goal", "/vehicle/setpoint", "/wheel"]],
    ["of another language", ["/flieger", "/finger", "/sollwert", "/fingersoll", "/kreisel"]],
  ])("under names %s", (_, [vehicle, tool, setpoint, command, gyro]) => {
    const names = {
      vehicle_pose: vehicle!,
      effector_pose: tool!,
      vehicle_setpoint: setpoint!,
      effector_command: command!,
      vehicle_rate: gyro!,
    };
    expect(chosen(named(names))).toEqual(names);
    expect(chosen(named(names).reverse())).toEqual(names);
  });

  test("a ball that flies about and a box that lies there are no vehicle, and stand beside it", () => {
    const names = { vehicle_pose: "/mocap/hexa", vehicle_setpoint: "/hold", vehicle_rate: "/imu" } as const;
    const streams = [bystander("/mocap/ball", true), bystander("/mocap/box", false), ...named(names)];
    expect(chosen(streams)).toEqual(names);
    const roles = rolesOf(streams);
    expect(roles.get("vehicle_pose")!.also).toEqual(["/mocap/ball", "/mocap/box"]);
    // without the gyro the setpoint tells, without the setpoint the gyro
    expect(chosen(streams.filter(({ rates }) => rates === null)).vehicle_pose).toBe("/mocap/hexa");
    expect(chosen(streams.filter(({ candidate: { name } }) => name !== "/hold")).vehicle_pose).toBe("/mocap/hexa");
  });

  test("where neither tells, the body is asked for, with those that move", () => {
    const streams = [bystander("/mocap/ball", true), bystander("/mocap/box", false), of("vehicle_pose", "/mocap/hexa")];
    const role = rolesOf(streams).get("vehicle_pose")!;
    expect([role.chosen, role.also]).toEqual([null, ["/mocap/ball", "/mocap/hexa"]]);
  });

  test("the vehicle's own reckoning is its estimate and never its capture, and a filter of the capture's host is neither", () => {
    const clocked = (clock: string) => ({ clock });
    const flown = [
      of("vehicle_setpoint", "/hold", clocked("recorder")),
      of("vehicle_rate", "/imu", clocked("recorder")),
      of("vehicle_estimate", "/state", clocked("recorder")),
    ];
    expect(chosen([of("vehicle_pose", "/x", clocked("clock-2")), ...flown])).toMatchObject({
      vehicle_pose: "/x",
      vehicle_estimate: "/state",
    });
    expect(chosen(flown)).toMatchObject({ vehicle_estimate: "/state" });
    expect(chosen(flown).vehicle_pose).toBeUndefined();
    const filter = of("vehicle_pose", "/mocap_driver/odom", { clock: "clock-2", type: "nav_msgs/Odometry" });
    const without = flown.slice(0, 2);
    const found = chosen([of("vehicle_pose", "/mocap/x", clocked("clock-2")), filter, ...without]);
    expect(found.vehicle_estimate).toBeUndefined();
  });

  test("another topic of the vehicle's setpoint is never the arm's command", () => {
    const names = { vehicle_pose: "/p", vehicle_setpoint: "/setpoint", vehicle_rate: "/imu" } as const;
    const found = chosen([...named(names), of("vehicle_setpoint", "/setpoint_raw")]);
    expect(found).toEqual(names);
  });

  test("the frame of the arm's command and the place it counts from are those that were flown", () => {
    const names = {
      vehicle_pose: "/a",
      effector_pose: "/b",
      vehicle_setpoint: "/c",
      effector_command: "/d",
      vehicle_rate: "/e",
    };
    const streams = named(names);
    const role = rolesOf(streams).get("effector_command")!;
    expect(role.parts).toEqual(["frame: arm_base"]);
    // arm base [60, 0, -120] mm less the tool point [0, 0, -45] mm; the arm errs by some millimetres
    const place = /\[(-?\d+) mm, (-?\d+) mm, (-?\d+) mm\]/.exec(role.armBase!)!.slice(1).map(Number);
    for (const [k, metres] of [60, 0, -75].entries()) expect(Math.abs(place[k]! - metres)).toBeLessThan(5);
  });

  test("a gyro that counts forward, right, down is turned, and one in degrees says so", () => {
    const rate = recorded("vehicle_rate");
    const { wx, wy, wz } = rate.columns;
    const degrees = (sign: number) => (value: number) => (sign * value * 180) / Math.PI;
    const gyro = stream(
      "gyro",
      rate.received.seconds,
      { wx: wx!.map(degrees(1)), wy: wy!.map(degrees(-1)), wz: wz!.map(degrees(-1)) },
      { request: { topic: "", columns: { t: "t", wx: "a", wy: "b", wz: "c" } } },
    );
    const streams = [of("vehicle_pose", "/a"), gyro];
    const role = rolesOf(streams).get("vehicle_rate")!;
    expect([role.parts, role.units]).toEqual([["axes: { body: frd }"], { rate: "deg/s" }]);
  });
});
