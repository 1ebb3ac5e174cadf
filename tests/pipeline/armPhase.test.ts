import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parse } from "@foxglove/rosmsg";
import { MessageWriter } from "@foxglove/rosmsg2-serialization";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { inspectLog } from "../../src/pipeline/inspectLog.ts";
import { randomStream } from "../../src/simulation/attitude.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { buildMcap } from "../readers/mcap/buildMcap.ts";
import { writeBag } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { evaluateFlights, glance, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

/*
 * A lab that has no command of its arm in metres, but a joint's angle: windows, cycles and phase come from it, and what is said of
 * the vehicle is what the command in metres would have had said. Truth: the same flights with that command.
 */

const configurations = ["bare", "weighted", "bare", "weighted", "bare", "weighted"];
/** The counterweights take most of what the arm does to the vehicle. */
const flown = (k: number, changes: FlightChanges): SimulatedFlight =>
  shortFlight(
    40 + k,
    configurations[k] === "bare" ? changes : { ...changes, counterweights: [{ mass: 0.54, at: [-0.2, 0, -0.06] }] },
  );

/** The shoulder that swings the tool: degrees about the base, of a link that hangs 0.3 m down. Not linear in any axis. */
function shoulder({ columns }: RecordedSignal, noise: (k: number) => number): Float64Array {
  const { x, y, z } = columns as Record<"x" | "y" | "z", Float64Array>;
  return x.map((at, k) => (180 / Math.PI) * Math.atan2(y[k]! + 0.5 * at, 0.3 - 0.3 * z[k]!) + noise(k));
}

/** A flight whose arm command in metres is left out, and the angle of a joint put in its place. */
function byJoint(flight: SimulatedFlight, noise: (k: number) => number = () => 0): SimulatedFlight {
  const signals = flight.signals.map((signal): RecordedSignal => {
    if (signal.signal !== "effector_command") return signal;
    return { ...signal, signal: "arm_phase", topic: "/arm/joints", columns: { value: shoulder(signal, noise) } };
  });
  return { ...flight, signals };
}

const shown = ["vehicle_pose", "vehicle_setpoint", "vehicle_rate"] as const;
const runs = configurations.map((configuration, k) => ({
  log: `flight-${k}.bag`,
  id: `flight-${k}`,
  configuration,
  trajectory: "orbit",
}));

async function both(
  changes: FlightChanges,
  noise?: (flight: number) => (k: number) => number,
  declared = (text: string): string => text,
) {
  const flight = shortSettings(changes);
  const flights = configurations.map((_, k) => flown(k, changes));
  const logs = (of: (flight: SimulatedFlight, k: number) => SimulatedFlight) =>
    Object.fromEntries(flights.map((one, k) => [`flight-${k}.bag`, of(one, k)]));
  const inMetres = await evaluateFlights(
    logs((one) => one),
    shortManifest(runs, { flight, signals: [...shown, "effector_command"] }),
  );
  const inDegrees = await evaluateFlights(
    logs((one, k) => byJoint(one, noise?.(k))),
    declared(shortManifest(runs, { flight, signals: [...shown, "arm_phase"] })),
  );
  return { inMetres, inDegrees };
}

const verdicts = ({ cells }: CampaignEvaluation) =>
  cells.filter(({ in_family }) => in_family).map(({ subject, axis, verdict }) => `${subject} ${axis}: ${verdict}`);
const starts = ({ windows }: CampaignEvaluation["runs"][number]) => windows.cycles.map(([from]) => from);

/** The largest distance between the starts of the same cycles, seconds; infinity where there are not as many. */
function cyclesApart(a: CampaignEvaluation, b: CampaignEvaluation): number {
  return Math.max(
    ...a.runs.map((run, k) => {
      const [own, other] = [starts(run), starts(b.runs[k]!)];
      return own.length !== other.length || own.length === 0
        ? Number.POSITIVE_INFINITY
        : Math.max(...own.map((at, i) => Math.abs(at - other[i]!)));
    }),
  );
}

const line = { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 5, rampIn: 0 } as const;
const circle = { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 6, rampIn: 0 } as const;

test.each([
  ["a circle", circle],
  ["a circle that ramps in", { ...circle, rampIn: 1 }],
  ["a stroke", line],
] as const)(
  "%s by the angle of a joint gives the cycles, windows and verdicts of its command in metres",
  async (_, trajectory) => {
    const { inMetres, inDegrees } = await both({ trajectory });
    expect(inMetres.runs.every(({ used }) => used)).toBe(true);
    expect(inDegrees.runs.map(glance)).toEqual(inMetres.runs.map(glance));
    expect(JSON.stringify(inDegrees.settings)).toContain("arm_phase");
    // half an interval of the command, which comes at 50 Hz: where between two messages it began, neither says
    expect(cyclesApart(inMetres, inDegrees)).toBeLessThan(0.01);
    for (const [k, { windows }] of inDegrees.runs.entries())
      for (const end of [0, 1] as const)
        expect(windows.hold![end]).toBeCloseTo(inMetres.runs[k]!.windows.hold![end], 6);
    expect(verdicts(inDegrees)).toEqual(verdicts(inMetres));
    expect(verdicts(inDegrees).join()).toContain("vehicle");
    expect(verdicts(inDegrees).join()).not.toContain("effector");
  },
);

test("a trajectory of which only the period is declared gives the same cycles", async () => {
  const { inMetres, inDegrees } = await both({ trajectory: circle }, undefined, (text) =>
    text.replace(/orbit: \{ shape: circle.*\}/, "orbit: { shape: logged, period: 1.508 s }"),
  );
  expect(cyclesApart(inMetres, inDegrees)).toBeLessThan(0.01);
  expect(verdicts(inDegrees)).toEqual(verdicts(inMetres));
});

test("a measured angle, with the noise and the steps of an encoder, gives the same verdicts", async () => {
  const noise = (flight: number) => {
    const random = randomStream(flight, "encoder");
    return () => 0.15 * random.normal();
  };
  const { inMetres, inDegrees } = await both({ trajectory: circle }, noise);
  // the circle begins where the angle turns: a level off by the noise, 1.5 % of half the swing, is sqrt(2 * 0.015) = 0.17 rad or
  // 42 ms away from there; at most twice that noise
  expect(cyclesApart(inMetres, inDegrees)).toBeLessThan(0.06);
  expect(inDegrees.runs.map(({ windows }) => windows.hold)).not.toContain(null);
  expect(verdicts(inDegrees)).toEqual(verdicts(inMetres));
});

test("a joint that goes round in another period is of the wrong trajectory, and one that rests shows no cycles", async () => {
  const manifest = shortManifest(["a.bag"], { signals: [...shown, "arm_phase"] });
  const flight = shortFlight(1, { trajectory: { ...circle, speed: 0.28 } });
  const { runs: faster } = await evaluateFlights({ "a.bag": byJoint(flight) }, manifest);
  expect(faster[0]!.checks.find(({ code }) => code === "wrong-trajectory")!.message).toMatch(
    /period 1\.508 s declared/,
  );
  const random = randomStream(5, "encoder");
  const resting = byJoint(shortFlight(1), () => 0);
  const signals = resting.signals.map((signal) =>
    signal.signal === "arm_phase"
      ? { ...signal, columns: { value: signal.columns.value!.map(() => random.normal()) } }
      : signal,
  );
  const { runs: still } = await evaluateFlights({ "a.bag": { ...resting, signals } }, manifest);
  expect(still[0]!.checks.find(({ code }) => code === "wrong-trajectory")!.message).toContain(
    "the command never moves",
  );
  const none = resting.signals.filter(({ signal }) => signal !== "arm_phase");
  const { runs: without } = await evaluateFlights({ "a.bag": { ...resting, signals: none } }, manifest);
  expect(without[0]!.used).toBe(false);
  expect(without[0]!.checks.map(({ message }) => message).join(" ")).toContain("arm_phase");
});

const folder = mkdtempSync(join(tmpdir(), "counterpoise-arm-phase-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A type of the lab's own: a joint among several, in a message that nobody knows by heart. */
const definition = `std_msgs/Header header
string state
tank_arm/JointReading[] joints
================================================================================
MSG: std_msgs/Header
builtin_interfaces/Time stamp
string frame_id
================================================================================
MSG: builtin_interfaces/Time
int32 sec
uint32 nanosec
================================================================================
MSG: tank_arm/JointReading
float32 current
float64 angle
`;
const writer = new MessageWriter(parse(definition, { ros2: true }));

async function writeArm(name: string, { stamped, received, columns }: RecordedSignal): Promise<void> {
  const at = ({ epoch, seconds }: RecordedSignal["received"], k: number): bigint =>
    epoch + BigInt(Math.round(seconds[k]! * 1e9));
  const angles = Array.from(columns.value!);
  const messages = angles.map((angle, k) => {
    const stamp = at(stamped!, k);
    const header = {
      stamp: { sec: Number(stamp / 1_000_000_000n), nanosec: Number(stamp % 1_000_000_000n) },
      frame_id: "arm",
    };
    const joints = [
      { current: 0.4, angle: 1 },
      { current: 0.5, angle },
    ];
    return {
      topic: "/arm/state",
      type: "tank_arm/msg/ArmState",
      definition,
      logTime: at(received, k),
      data: writer.writeMessage({ header, state: "sampling", joints }),
    };
  });
  writeFileSync(join(folder, `${name}.mcap`), await buildMcap(messages, { chunkSize: 100_000 }));
  const rows = angles.map((angle, k) => {
    const stamp = at(stamped!, k);
    return `${stamp / 1_000_000_000n}.${String(stamp % 1_000_000_000n).padStart(9, "0")};ok;${angle}`;
  });
  writeFileSync(join(folder, `${name}.csv`), `Zeit [s];Status;shoulder [deg]\n${rows.join("\n")}\n`);
}

beforeAll(async () => {
  for (const [k] of configurations.entries()) {
    const flight = byJoint(flown(k, {}));
    const others = flight.signals.filter(({ signal }) => signal !== "arm_phase");
    writeBag(join(folder, `flight-${k}.bag`), flightMessages({ ...flight, signals: others }));
    await writeArm(`arm-${k}`, flight.signals.find(({ signal }) => signal === "arm_phase")!);
  }
}, 60_000);

test("where no command in metres is found, the draft proposes the column of a joint, and says what it is for", async () => {
  const { manifest } = await inspectLog(join(folder, "arm-0.csv"));
  const line = manifest.split("\n").find((one) => one.includes("arm_phase:"))!;
  expect(line).toMatch(/columns: \{ t: .*Zeit.*, value: .*shoulder.* \}/);
  expect(line).toContain("windows and cycles come from it");
});

test.each([
  ["a message of ROS 2 of the lab's own", "mcap", "topic: /arm/state, fields: { value: joints.1.angle }"],
  ["a table", "csv", "columns: { t: Zeit, value: shoulder }, units: { t: s }"],
])("read from %s it is the same as from memory", async (_, extension, source) => {
  const flights = configurations.map((__, k) => byJoint(flown(k, {})));
  const text = shortManifest(runs, { signals: [...shown, "arm_phase"] });
  const memory = await evaluateFlights(
    Object.fromEntries(flights.map((flight, k) => [`flight-${k}.bag`, flight])),
    text,
  );
  const path = join(folder, `${extension}.yaml`);
  const sources = text
    .replace(/topic: \/arm\/joints/, `log: arm, ${source}`)
    .replace(/topic: (?=\/(?:mocap|onboard|imu))/g, "log: flight, topic: ")
    .replace(/log: flight-(\d)\.bag/g, `logs: { flight: flight-$1.bag, arm: arm-$1.${extension} }`);
  writeFileSync(path, sources);
  const disk = await evaluateCampaign(path, { effects: { ...diskEffects, writeAtomically: async () => undefined } });
  expect(disk.runs.map(({ windows }) => windows.cycles.length)).toEqual(configurations.map(() => 6));
  // the log's own digits: stamps to the nanosecond
  expect(cyclesApart(memory, disk)).toBeLessThan(1e-6);
  expect(verdicts(disk)).toEqual(verdicts(memory));
});
