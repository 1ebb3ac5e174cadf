import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { parquetWriteBuffer } from "hyparquet-writer";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal } from "../../src/foundation/recording.ts";
import type { Vector3 } from "../../src/foundation/units.ts";
import { rotateVector } from "../../src/numeric/quaternion.ts";
import { diskEffects } from "../../src/pipeline/effects.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { buildC3d } from "../readers/c3d/buildC3d.ts";
import { buildMcap, type McapMessage } from "../readers/mcap/buildMcap.ts";
import { UlogBuilder } from "../readers/ulog/buildUlog.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { writeBag } from "../support/writeBag.ts";
import { flightMessages } from "./flightBag.ts";
import { shortFlight, shortManifest } from "./shortCampaign.ts";

type Run = CampaignEvaluation["runs"][number];
type Sources = Readonly<Record<string, string>>;

const flight = shortFlight(77);
const signals = flight.signals.filter(({ signal }) => signal !== "battery" && signal !== "motors");
const folder = mkdtempSync(join(tmpdir(), "counterpoise-formats-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Instants of a signal's stamps, nanoseconds. */
function stampsOf({ stamped }: RecordedSignal): bigint[] {
  return Array.from(stamped!.seconds, (seconds) => stamped!.epoch + BigInt(Math.round(seconds * 1e9)));
}

/** Evaluates the flight from logs of some format; the manifest differs in its signals and its log only. */
async function evaluated(
  name: string,
  log: string,
  sources: Sources | null = null,
  manifestText = shortManifest(["flight.bag"]),
): Promise<Run> {
  const text = manifestText.replace("log: flight.bag", log);
  const lines = text.split("\n").map((line) => {
    const signal = /^ {2}(\w+): \{ topic: /.exec(line)?.[1];
    const source = signal === undefined ? undefined : sources?.[signal];
    return source === undefined ? line : line.replace(/topic: [^,]+/, source);
  });
  const manifest = join(folder, `${name}.yaml`);
  writeFileSync(manifest, lines.join("\n"));
  const effects = { ...diskEffects, writeAtomically: async () => undefined };
  return (await evaluateCampaign(manifest, { effects })).runs[0]!;
}

/** Every number of one run against another's: names and texts of logs aside, nothing may differ. */
function largestDifference(a: unknown, b: unknown, place = ""): { place: string; difference: number } {
  let worst = { place, difference: 0 };
  const worse = (found: typeof worst): void => {
    if (found.difference > worst.difference) worst = found;
  };
  if (typeof a === "number" && typeof b === "number") {
    // the phase of a harmonic that is lost in the noise is any angle: rounding of the epochs (1e-14) grows by as much
    const known = /\.phase(_se)?$/.test(place) ? 1e-3 : 1;
    return { place, difference: (known * Math.abs(a - b)) / Math.max(1, Math.abs(a)) };
  }
  if (a !== null && b !== null && typeof a === "object" && typeof b === "object") {
    const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
    for (const key of keys)
      worse(
        largestDifference((a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key], `${place}.${key}`),
      );
    return worst;
  }
  return { place, difference: a === b ? 0 : Number.POSITIVE_INFINITY };
}

/** What is the flight's own: all but the names of logs, and checks by code and severity. */
function ownOf({ log: _, checks, ...rest }: Run): unknown {
  return { ...rest, checks: checks.map(({ code, severity }) => `${code} ${severity}`).sort() };
}

/** A message in CDR: a header, then doubles. */
function cdr(stamp: bigint, frame: string, values: readonly number[]): Buffer {
  const name = Buffer.from(`${frame}\0`);
  const at = (12 + name.length + 7) & ~7;
  const bytes = Buffer.alloc(4 + at + 8 * values.length);
  bytes[1] = 1;
  bytes.writeUInt32LE(Number(stamp / 1_000_000_000n), 4);
  bytes.writeUInt32LE(Number(stamp % 1_000_000_000n), 8);
  bytes.writeUInt32LE(name.length, 12);
  bytes.set(name, 16);
  for (const [k, value] of values.entries()) bytes.writeDoubleLE(value, 4 + at + 8 * k);
  return bytes;
}

function cdrMessages({ signals: all }: SimulatedFlight): McapMessage[] {
  return all
    .filter((signal) => signals.includes(signal))
    .flatMap((signal) => {
      const stamps = stampsOf(signal);
      const columns = Object.values(signal.columns);
      const type = signal.type.replace("/", "/msg/");
      const zeros = (count: number): number[] => Array<number>(count).fill(0);
      return stamps.map((stamp, k): McapMessage => {
        const row = columns.map((column) => column[k]!);
        const values = type === "sensor_msgs/msg/Imu" ? [0, 0, 0, 1, -1, ...zeros(8), ...row, ...zeros(21)] : row;
        const logTime = signal.received.epoch + BigInt(Math.round(signal.received.seconds[k]! * 1e9));
        return { topic: signal.topic, type, logTime, data: cdr(stamp, signal.frameId, values) };
      });
    })
    .sort((a, b) => Number(a.logTime - b.logTime));
}

const decimal = (nanoseconds: bigint): string =>
  `${nanoseconds / 1_000_000_000n}.${String(nanoseconds % 1_000_000_000n).padStart(9, "0")}`;
const rolesOf = ({ columns }: RecordedSignal): string =>
  Object.keys(columns)
    .map((name) => `${name}: ${name}`)
    .join(", ");
const unitsOf = ({ signal }: RecordedSignal): string => (signal === "vehicle_rate" ? "rate: rad/s" : "position: m");

const ulogTopics: Readonly<
  Record<string, { topic: string; format: string; row: (row: readonly number[]) => number[] }>
> = {
  vehicle_pose: {
    topic: "vehicle_mocap_odometry",
    format: "float[3] position;float[4] q;",
    row: ([x, y, z, a, b, c, w]) => [x!, y!, z!, w!, a!, b!, c!],
  },
  effector_pose: {
    topic: "vehicle_visual_odometry",
    format: "float[3] position;float[4] q;",
    row: ([x, y, z, a, b, c, w]) => [x!, y!, z!, w!, a!, b!, c!],
  },
  vehicle_setpoint: {
    topic: "trajectory_setpoint",
    format: "float[3] position;float yaw;",
    row: ([x, y, z]) => [x!, y!, z!, 0],
  },
  effector_command: {
    topic: "vehicle_local_position_setpoint",
    format: "float x;float y;float z;float yaw;",
    row: ([x, y, z]) => [x!, y!, z!, 0],
  },
  vehicle_estimate: {
    topic: "vehicle_attitude",
    format: "float[4] q;",
    row: ([, , , a, b, c, w]) => [w!, a!, b!, c!],
  },
  vehicle_rate: { topic: "vehicle_angular_velocity", format: "float[3] xyz;", row: (row) => [...row] },
};

/** Signals as a ULog: single precision, microseconds since a boot that many seconds before the first. Returns the boot, nanoseconds. */
function writeUlog(name: string, written: readonly RecordedSignal[], since = 1): bigint {
  const boot = written.map((signal) => stampsOf(signal)[0]!).sort()[0]! - BigInt(since) * 1_000_000_000n;
  const log = new UlogBuilder(1_000_000);
  const rows = written.flatMap((signal, id) => {
    const { topic, format, row } = ulogTopics[signal.signal]!;
    log.format(`${topic}:uint64_t timestamp;${format}`);
    const columns = Object.values(signal.columns);
    return stampsOf(signal).map((stamp, k) => ({ stamp, id, values: row(columns.map((column) => column[k]!)) }));
  });
  written.forEach((signal, id) => {
    log.subscribe(id, ulogTopics[signal.signal]!.topic);
  });
  for (const { stamp, id, values } of rows.sort((a, b) => Number(a.stamp - b.stamp))) {
    const body = Buffer.alloc(8 + 4 * values.length);
    body.writeBigUInt64LE((stamp - boot + 500n) / 1000n);
    for (const [k, value] of values.entries()) body.writeFloatLE(value, 8 + 4 * k);
    log.data(id, body);
  }
  writeFileSync(join(folder, name), log.finish());
  return boot;
}

const places: Readonly<Record<string, readonly [string, Vector3][]>> = {
  vehicle_pose: [
    ["A1", [0.2, 0, 0.05]],
    ["A2", [-0.15, 0.15, 0]],
    ["A3", [-0.15, -0.15, 0]],
    ["A4", [0, 0, 0.1]],
  ],
  effector_pose: [
    ["T1", [0.05, 0, 0]],
    ["T2", [0, 0.05, 0]],
    ["T3", [0, 0, 0.06]],
  ],
};

/** Both bodies as markers, to the tenth of a millimetre, from the frame `first` on: a C3D's own time is 0 there. */
function writeC3d(name: string, first = 0): void {
  const captured = Object.keys(places).map((body) => signals.find(({ signal }) => signal === body)!);
  const frames = Array.from(captured[0]!.stamped!.seconds, (_, k) =>
    captured.flatMap(({ signal, columns }) => {
      const at = (column: string): number => columns[column]![k]!;
      return places[signal]!.map(([, place]): [number, number, number, number] => {
        const turned = rotateVector([at("qx"), at("qy"), at("qz"), at("qw")], place);
        return [1000 * (turned[0] + at("x")), 1000 * (turned[1] + at("y")), 1000 * (turned[2] + at("z")), 0.1];
      });
    }),
  );
  const labels = Object.values(places).flatMap((body) => body.map(([label]) => label));
  const bytes = buildC3d({
    order: "Intel",
    integers: 0.1,
    labels,
    rate: 100,
    unit: "mm",
    frames: frames.slice(first),
  });
  writeFileSync(join(folder, name), bytes);
}

/** Where each signal stands where a C3D and another log make up a run. */
function besideC3d(topicOf: (signal: RecordedSignal) => string): Sources {
  const markers = (signal: string): string =>
    places[signal]!.map(
      ([label, place]) => `${label}: [${place.map((value) => `${1000 * value} mm`).join(", ")}]`,
    ).join(", ");
  return Object.fromEntries(
    signals.map((signal) => [
      signal.signal,
      places[signal.signal] === undefined
        ? `log: onboard, topic: ${topicOf(signal)}`
        : `log: capture, markers: { ${markers(signal.signal)} }`,
    ]),
  );
}

describeWith(["scipy"], "one simulated flight, written in every format", () => {
  let bag: Run;
  const same = (run: Run): void => {
    expect(bag.used).toBe(true);
    expect(bag.tracking.cycles!.effector!.z.rms).toBeGreaterThan(1e-4);
    const { place, difference } = largestDifference(ownOf(bag), ownOf(run));
    expect(difference < 1e-9 ? "the same" : `${place} differs by ${difference}`).toBe("the same");
  };

  beforeAll(async () => {
    writeBag(join(folder, "flight.bag"), flightMessages(flight));
    bag = await evaluated("bag", "log: flight.bag");
  }, 60_000);

  test("as MCAP gives the same evaluation as the ROS 1 bag to 1e-9", async () => {
    writeFileSync(join(folder, "flight.mcap"), await buildMcap(cdrMessages(flight), { chunkSize: 100_000 }));
    same(await evaluated("mcap", "log: flight.mcap"));
  });

  test("as the folder of a ROS 2 bag with SQLite does", async () => {
    mkdirSync(join(folder, "ros2"));
    const messages = cdrMessages(flight);
    const topics = [...new Map(messages.map(({ topic, type }) => [topic, type]))];
    runPython<null>(
      `
import base64, json, sqlite3, sys
path, topics, rows = json.load(sys.stdin)
database = sqlite3.connect(path)
database.execute("CREATE TABLE topics(id INTEGER PRIMARY KEY, name TEXT, type TEXT, serialization_format TEXT, offered_qos_profiles TEXT)")
database.execute("CREATE TABLE messages(id INTEGER PRIMARY KEY, topic_id INTEGER NOT NULL, timestamp INTEGER NOT NULL, data BLOB NOT NULL)")
names = [name for name, _ in topics]
database.executemany("insert into topics values (?, ?, ?, 'cdr', '')", [(k + 1, name, kind) for k, (name, kind) in enumerate(topics)])
database.executemany("insert into messages(topic_id, timestamp, data) values (?, ?, ?)",
                     [(names.index(topic) + 1, int(time), base64.b64decode(data)) for topic, time, data in rows])
database.commit()
print("null")
`,
      [
        join(folder, "ros2", "flight_0.db3"),
        topics,
        messages.map(({ topic, logTime, data }) => [topic, String(logTime), Buffer.from(data).toString("base64")]),
      ],
    );
    writeFileSync(
      join(folder, "ros2", "metadata.yaml"),
      "rosbag2_bagfile_information:\n  relative_file_paths: [flight_0.db3]\n",
    );
    same(await evaluated("ros2", "log: ros2"));
  });

  test("as a table for each signal does", async () => {
    const sources: Record<string, string> = {};
    for (const signal of signals) {
      const columns = Object.values(signal.columns);
      const rows = stampsOf(signal).map((stamp, k) =>
        [decimal(stamp), ...columns.map((column) => column[k]!)].join(","),
      );
      writeFileSync(
        join(folder, `${signal.signal}.csv`),
        `t,${Object.keys(signal.columns).join(",")}\n${rows.join("\n")}\n`,
      );
      sources[signal.signal] =
        `log: ${signal.signal}, columns: { t: t, ${rolesOf(signal)} }, units: { t: s, ${unitsOf(signal)} }`;
    }
    const logs = signals.map(({ signal }) => `${signal}: ${signal}.csv`).join(", ");
    same(await evaluated("csv", `logs: { ${logs} }`, sources));
  });

  test("as one table with a row for each reading, blank where the others have none, does", async () => {
    const sources: Record<string, string> = {};
    const names = signals.flatMap(({ signal, columns }) => Object.keys(columns).map((name) => `${signal} ${name}`));
    const rows = signals.flatMap((signal) => {
      const own = Object.entries(signal.columns);
      return stampsOf(signal).map((stamp, k) => {
        const values = new Map(own.map(([name, column]) => [`${signal.signal} ${name}`, String(column[k]!)]));
        return { stamp, line: [decimal(stamp), ...names.map((name) => values.get(name) ?? "")].join(";") };
      });
    });
    rows.sort((a, b) => Number(a.stamp - b.stamp));
    writeFileSync(
      join(folder, "merged.csv"),
      `time [s];${names.join(";")}\n${rows.map(({ line }) => line).join("\n")}\n`,
    );
    for (const signal of signals) {
      const roles = Object.keys(signal.columns).map((name) => `${name}: ${signal.signal} ${name}`);
      sources[signal.signal] = `columns: { t: "time", ${roles.join(", ")} }, units: { ${unitsOf(signal)} }`;
    }
    same(await evaluated("merged", "log: merged.csv", sources));
  });

  test("as Parquet, with whole nanoseconds, does", async () => {
    const sources: Record<string, string> = {};
    for (const signal of signals) {
      const columnData = [
        { name: "stamp_ns", data: stampsOf(signal), type: "INT64" as const },
        ...Object.entries(signal.columns).map(([name, data]) => ({
          name,
          data: Array.from(data),
          type: "DOUBLE" as const,
        })),
      ];
      writeFileSync(join(folder, `${signal.signal}.parquet`), Buffer.from(parquetWriteBuffer({ columnData })));
      sources[signal.signal] =
        `log: ${signal.signal}, columns: { t: stamp_ns, ${rolesOf(signal)} }, units: { t: ns, ${unitsOf(signal)} }`;
    }
    const logs = signals.map(({ signal }) => `${signal}: ${signal}.parquet`).join(", ");
    same(await evaluated("parquet", `logs: { ${logs} }`, sources));
  });

  test("as ULog, in single precision and microseconds, gives it to its own resolution", async () => {
    writeUlog("flight.ulg", signals);
    const sources = Object.fromEntries(signals.map(({ signal }) => [signal, `topic: ${ulogTopics[signal]!.topic}`]));
    const run = await evaluated("ulog", "log: flight.ulg", sources);
    expect(run.checks.map(({ code }) => code).sort()).toEqual(bag.checks.map(({ code }) => code).sort());
    for (const subject of ["vehicle", "effector"] as const)
      for (const axis of ["x", "y", "z"] as const) {
        const [one, other] = [bag, run].map(({ tracking }) => tracking.cycles![subject]![axis]!.rms);
        // 1.5 m in single precision: 0.12 um; 1 us at 0.3 m/s: 0.3 um; and the clock found again on them
        expect(Math.abs(one! - other!)).toBeLessThan(3e-6);
      }
    // the same two clocks, to the microseconds of the stamps
    expect(Math.abs(run.clocks.mocap!.offset - bag.clocks.mocap!.offset)).toBeLessThan(2e-5);
  });

  test("as ULog with nothing but an attitude estimate to join the clocks, finds the offset of the flight", async () => {
    const estimate = { rate: 50, positionNoise: 0.002, attitudeNoise: 5e-4, delay: 0 };
    const other = shortFlight(78, { estimate });
    const wanted = other.signals.filter(({ signal }) => ulogTopics[signal] !== undefined && signal !== "vehicle_rate");
    writeUlog("attitude.ulg", wanted);
    const manifest = shortManifest(["flight.bag"], {
      flight: other.settings,
      captureClock: "estimate",
      signals: ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_estimate"],
    });
    const sources = Object.fromEntries(wanted.map(({ signal }) => [signal, `topic: ${ulogTopics[signal]!.topic}`]));
    const run = await evaluated("attitude", "log: attitude.ulg", sources, manifest);
    const { offset, offset_se, source } = run.clocks.mocap!;
    expect(source).toContain("attitude against attitude");
    // the offset that the flight was simulated with
    expect(Math.abs(offset - other.settings.clock.offset)).toBeLessThan(5 * offset_se!);
    expect(offset_se!).toBeLessThan(2e-3);
  });

  test("with the bodies as markers in C3D, on the capture's own clock from 0, gives it to the resolution of integers", async () => {
    writeC3d("flight.c3d");
    const sources = besideC3d(({ topic }) => topic);
    const run = await evaluated("c3d", "logs: { capture: flight.c3d, onboard: flight.bag }", sources);
    for (const axis of ["x", "y", "z"] as const) {
      const [one, other] = [bag, run].map(({ tracking }) => tracking.cycles!.vehicle![axis]!.rms);
      // steps of 0.1 mm on four markers: 0.03 mm / 2 of noise, squared beside errors of millimetres, and stamps on a grid
      expect(Math.abs(one! - other!)).toBeLessThan(1e-4);
    }
    expect(run.used).toBe(true);
  });

  // a C3D counts from its first frame, a ULog from the autopilot's boot: nothing in either says how they relate
  test.each([
    [35, 0],
    [400, 0],
    // the capture was started 6 s into the log
    [400, 600],
  ])("with C3D and a ULog that begins %i s after boot, from frame %i on, finds the clocks", async (since, first) => {
    const boot = writeUlog(
      "beside.ulg",
      signals.filter(({ signal }) => places[signal] === undefined),
      since,
    );
    writeC3d("beside.c3d", first);
    const manifest = shortManifest(["flight.bag"]).replace(", search: 2 s", "");
    const sources = besideC3d(({ signal }) => ulogTopics[signal]!.topic);
    const run = await evaluated("beside", "logs: { capture: beside.c3d, onboard: beside.ulg }", sources, manifest);
    expect(run.used).toBe(true);
    const { offset, offset_se, source } = run.clocks.mocap!;
    expect(source).toContain("wherever the two logs overlap");
    // the capture clock shows start + t + offset + skew t (src/simulation/timeline.ts): the first frame's t, on the ULog's clock
    const { start, clock } = flight.settings;
    const shown = stampsOf(signals.find(({ signal }) => signal === "vehicle_pose")!)[first]!;
    const t = (Number(shown - start) / 1e9 - clock.offset) / (1 + clock.skew);
    const expected = -(Number(start - boot) / 1e9 + t);
    // at the run's start, `t` before the first frame, the skew makes 20e-6 x 6 s less
    expect(Math.abs(offset - expected)).toBeLessThan(5 * offset_se! + 2e-4);
    expect(offset_se!).toBeLessThan(3e-3);
    if (first > 0) return;
    for (const axis of ["x", "y", "z"] as const) {
      const [one, other] = [bag, run].map(({ tracking }) => tracking.cycles!.vehicle![axis]!.rms);
      // as above: steps of 0.1 mm on four markers, and stamps on a grid
      expect(Math.abs(one! - other!)).toBeLessThan(1e-4);
    }
  });

  test("with C3D and a ULog that a search of 2 s about their starts misses, is refused, and says where they agree", async () => {
    const boot = writeUlog(
      "late.ulg",
      signals.filter(({ signal }) => places[signal] === undefined),
      400,
    );
    writeC3d("late.c3d", 600);
    const sources = besideC3d(({ signal }) => ulogTopics[signal]!.topic);
    const run = await evaluated("late", "logs: { capture: late.c3d, onboard: late.ulg }", sources);
    expect(run.used).toBe(false);
    const check = run.checks.find(({ code }) => code === "clock-ambiguous")!;
    // begun 6 s into the flight; both streams start within hundredths of a second of it
    expect(check.message).toMatch(/show the same motion -6\.0\d s from the offset at which both logs begin together/);
    expect(check.hint).toContain("leave `search` out");
    expect(boot).toBeGreaterThan(0n);
  });
});
