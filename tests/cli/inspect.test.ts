import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { runCli } from "../../src/cli/runCli.ts";
import type { FolderInspection, LogInspection } from "../../src/contract/inspection.ts";
import { jsonSchemaOf } from "../../src/contract/jsonSchemas.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { inspectLog } from "../../src/pipeline/inspectLog.ts";
import { textWidth } from "../../src/report/text/layout.ts";
import { fields, UlogBuilder } from "../readers/ulog/buildUlog.ts";
import { describeWith, missing, openLogs } from "../support/available.ts";
import { type BagMessage, buildBag, f64s, header, writeBag } from "../support/writeBag.ts";
import { capturedTerminal } from "./captured.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function inspect(...args: string[]) {
  const terminal = capturedTerminal();
  const code = await runCli(["inspect", ...args], terminal);
  return { code, stdout: terminal.stdout(), stderr: terminal.stderr() };
}
async function inspection(path: string): Promise<LogInspection> {
  return JSON.parse((await inspect(path, "--json")).stdout) as LogInspection;
}

/** nanoseconds to the two words of a ROS time */
const words = (ns: number): readonly [number, number] => [Math.floor(ns / 1e9), ns % 1e9];
const start = 1_700_000_000;
const dt = 10_000_000;

/**
 * A made log of 2 s: the capture's poses at 100 Hz, stamped 130 ms before receipt, with 0.5 s missing after 1 s; the setpoint
 * at 10 Hz, stamped 2 ms before receipt, with one stamp zero, one twice and one backward; a gyro like the setpoint at 100 Hz.
 */
function madeMessages(): BagMessage[] {
  const messages: BagMessage[] = [];
  const at = (
    ns: number,
    behind: number,
  ): { received: readonly [number, number]; stamp: readonly [number, number] } => {
    const [sec, nsec] = words(ns);
    const earlier = ns - behind;
    return {
      received: [start + sec, nsec],
      stamp: [start + Math.floor(earlier / 1e9), ((earlier % 1e9) + 1e9) % 1e9],
    };
  };
  const pose = (stamp: readonly [number, number]): Buffer => Buffer.concat([header(stamp), f64s(1, 2, 3, 0, 0, 0, 1)]);
  const definition = "Header header\ngeometry_msgs/Pose pose\n";
  for (let i = 0; i <= 200; i++) {
    const times = at(i * dt, 130_000_000);
    const near = at(i * dt, 2_000_000);
    if (i <= 100 || i >= 150)
      messages.push({
        topic: "/mocap/airframe",
        type: "geometry_msgs/PoseStamped",
        definition,
        received: times.received,
        data: pose(times.stamp),
      });
    messages.push({
      topic: "/imu",
      type: "geometry_msgs/Vector3Stamped",
      definition: "Header header\nVector3 vector\n",
      received: near.received,
      data: Buffer.concat([header(near.stamp), f64s(0, 0, 0)]),
    });
    if (i % 10 === 0) {
      const stamp =
        i === 50
          ? ([0, 0] as const)
          : i === 80
            ? at(70 * dt, 2_000_000).stamp
            : i === 120
              ? at(100 * dt, 2_000_000).stamp
              : near.stamp;
      messages.push({
        topic: "/onboard/hold_point",
        type: "geometry_msgs/PoseStamped",
        definition,
        received: near.received,
        data: pose(stamp),
      });
    }
  }
  return messages;
}
const madeLog = (): string => {
  const path = join(folder, "made.bag");
  writeBag(path, madeMessages());
  return path;
};

test("inspect --json counts, times and compares what was put into a log", async () => {
  const found = await inspection(madeLog());
  expect(found.messages).toBe(152 + 201 + 21);
  expect(found.duration).toBeCloseTo(2, 9);
  const topic = (name: string) => found.topics.find((each) => each.topic === name)!;
  const pose = topic("/mocap/airframe");
  expect(pose.messages).toBe(152);
  expect(pose.timing?.by).toBe("header");
  expect(pose.timing?.median_interval).toBeCloseTo(0.01, 8);
  // messages 100 and 150 are neighbours: 0.5 s, from 1 s after the first receipt
  expect(pose.timing).toMatchObject({ gaps: 1 });
  expect(pose.timing?.longest_gap).toBeCloseTo(0.5, 8);
  expect(pose.timing?.longest_gap_at).toBeCloseTo(1, 8);
  expect(pose.stamps).toMatchObject({ zero: 0, backward: 0, duplicate: 0, epoch: "date" });
  expect(pose.stamps?.delay_median).toBeCloseTo(0.13, 8);
  expect(pose.stamps?.delay_spread).toBeCloseTo(0, 8);
  const setpoint = topic("/onboard/hold_point");
  // message 80 repeats the stamp of 70; message 120 bears that of 100, which lies before that of 110
  expect(setpoint.stamps).toMatchObject({ zero: 1, backward: 1, duplicate: 1 });
  // one stamp is zero, so the rate is by receipt
  expect(setpoint.timing?.by).toBe("receipt");
  expect(setpoint.timing?.median_interval).toBeCloseTo(0.1, 8);
  expect(setpoint.timing?.gaps).toBe(0);
});

test("inspect guesses which topics share a clock", async () => {
  const { clocks, topics } = await inspection(madeLog());
  expect(clocks.map(({ name, topics: stamped }) => [name, stamped])).toEqual([
    ["recorder", ["/imu", "/onboard/hold_point"]],
    ["clock-2", ["/mocap/airframe"]],
  ]);
  expect(topics.find(({ topic }) => topic === "/imu")?.clock).toBe("recorder");
});

/** Fills the places of a fragment as a person would. */
function filledIn(fragment: string): string {
  const values: Record<string, string> = {
    TITLE: "Tank wall",
    LENGTH: "1.5 mm",
    LABEL: "Arm",
    MASS: "540 g",
    SHAPE: "logged",
    MARKERS: "{ A: [0 mm, 0 mm, 0 mm] }",
    COLUMNS: "{ t: t, x: x, y: y, z: z }",
    PLANE: "yz",
    RADIUS: "60 mm",
    SPEED: "0.25 m/s",
    COUNT: "12",
    BLOCK: "day1",
    FRAME: "arm_base",
    CHILD: "base_link",
    JOINT: "joint_1",
    TOPIC: "/some/topic",
    TIME: "-137 ms",
    PERIOD: "1.5 s",
    RUNS: "[]",
    BASELINE: "calm",
    CANDIDATE: "gusty",
    TOOL_POINT: "[0 mm, 0 mm, -45 mm]",
    ARM_BASE: "[60 mm, 0 mm, -120 mm]",
    WORLD: "ned",
    COLUMN: "#1",
  };
  const units: Record<string, string> = { t: "s", position: "m", angle: "rad", rate: "rad/s" };
  const measured = fragment.replace(/\b(t|position|angle|rate): <UNIT>/g, (_, key: string) => `${key}: ${units[key]}`);
  return measured.replace(/<([A-Z_]+)>/g, (place, name: string) => values[name] ?? place);
}
const campaignOf = (fragment: string) =>
  readCampaign(filledIn(fragment), { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });

test("the fragment, its places filled in, is a manifest with the signals and clocks of the log", async () => {
  const { manifest } = await inspection(madeLog());
  const campaign = await campaignOf(manifest);
  expect(Object.entries(campaign.signals).map(([name, source]) => [name, source.topic, source.clock])).toEqual([
    ["vehicle_pose", "/mocap/airframe", "mocap"],
    ["vehicle_setpoint", "/onboard/hold_point", "onboard"],
    ["vehicle_rate", "/imu", "onboard"],
  ]);
  expect(campaign.clocks.reference).toBe("onboard");
  expect(campaign.clocks.others.mocap).toMatchObject({ kind: "same-motion", pair: ["vehicle_pose", "vehicle_rate"] });
  expect(campaign.runs.map(({ logs }) => logs)).toEqual([{ "": ["made.bag"] }]);
});

test("what no name of a column tells is to be filled in as columns, for a table has no topics", async () => {
  const path = join(folder, "unnamed.csv");
  const rows = Array.from({ length: 20 }, (_, k) => `${k / 100},1,2,3,4,5,6`);
  writeFileSync(path, `t,x,y,z,a1,a2,a3\n${rows.join("\n")}\n`);
  const { manifest } = await inspection(path);
  expect(manifest).not.toContain("<TOPIC>");
  const { signals } = await campaignOf(manifest);
  expect(signals.vehicle_pose!.columns).toEqual({ t: "t", x: "x", y: "y", z: "z" });
  expect(signals.vehicle_setpoint!.columns).toEqual({ t: "#1", x: "#1", y: "#1", z: "#1" });
});

test("the fragment unfilled is refused, so that no placeholder passes for a value", async () => {
  const { manifest } = await inspection(madeLog());
  await expect(
    readCampaign(manifest, { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) }),
  ).rejects.toThrow("<LENGTH>");
});

test("inspect prints topics, gaps, stamps, clocks and the fragment within 80 columns", async () => {
  const { code, stdout, stderr } = await inspect(madeLog());
  expect(code).toBe(0);
  expect(stderr).toBe("");
  expect(stdout).toContain("  /mocap/airframe\n    geometry_msgs/PoseStamped, 152 messages, 100 a second\n");
  expect(stdout).toContain("    gaps: 1 over 25.00 ms, the longest 500 ms at 1.00 s\n");
  expect(stdout).toContain("    stamps: dates; 1 zero, 1 backward, 1 twice\n");
  expect(stdout).toContain("  clock-2, stamped 130 ms before receipt: /mocap/airframe\n");
  expectSound(stdout);
});

/** Nothing but the fragment, which is to be copied, may be wider than 80 columns. */
function expectSound(stdout: string): void {
  expect(stdout).not.toMatch(/NaN|undefined|null|Infinity/);
  for (const line of stdout.split("A manifest to start from")[0]!.split("\n"))
    expect(textWidth(line), line).toBeLessThanOrEqual(80);
}

test("a log that was cut off is shown with what was recovered", async () => {
  const path = join(folder, "cut.bag");
  const { bytes, chunkPositions } = buildBag(madeMessages(), { unindexed: true });
  writeFileSync(path, bytes.subarray(0, chunkPositions[5]! + 40));
  const { code, stdout } = await inspect(path);
  expect(code).toBe(0);
  expect(stdout).toMatch(/^Damaged: /m);
  expectSound(stdout);
  // five whole chunks of ten messages
  expect((await inspection(path)).messages).toBe(50);
});

test("a logger that could not keep up is no damaged file: what it lost is reported, of one log and of a folder", async () => {
  const day = mkdtempSync(join(folder, "dropouts-"));
  const path = join(day, "flight.ulg");
  const log = new UlogBuilder(5_000_000).format("sensor_gyro:uint64_t timestamp;float x;float y;float z;");
  log.subscribe(0, "sensor_gyro");
  for (let k = 0; k < 40; k++) log.data(0, fields(BigInt(5_000_000 + 4000 * k), 0.1, 0.2, 0.3));
  // dropouts, message type "O" of the ULog specification: uint16, milliseconds
  for (const milliseconds of [120, 80]) log.message("O", Buffer.from([milliseconds, 0]));
  writeFileSync(path, log.data(0, fields(5_360_000n, 0.1, 0.2, 0.3)).finish());
  const one = await inspect(path);
  expect(one.stdout).toContain("The logger could not keep up 2 times and lost 0.200 s in all");
  expectSound(one.stdout);
  const found = await inspection(path);
  expect([found.recovered, found.dropouts]).toEqual([null, { count: 2, seconds: 0.2 }]);
  const all = await inspect(day);
  expect(all.stdout.replace(/\s+/g, " ")).toContain(
    "flight.ulg: the logger could not keep up 2 times and lost 0.200 s in all",
  );
  for (const { stdout } of [one, all]) expect(stdout).not.toMatch(/damaged/i);
});

test("what is no log is refused with code 2 and no stack", async () => {
  const path = join(folder, "campaign.yaml");
  writeFileSync(path, "title: no log\n");
  const empty = mkdtempSync(join(folder, "empty-"));
  for (const wrong of [path, join(folder, "nothing.bag"), empty]) {
    const { code, stdout, stderr } = await inspect(wrong, "--json");
    expect(code).toBe(2);
    expect(stdout).toBe("");
    expect(stderr).toContain(`place: ${wrong}\n`);
    expect(stderr).not.toMatch(/^ +at /m);
  }
});

describeWith(["open-logs"], "inspect on the open ROS 1 bags", () => {
  const bags = (): string[] => {
    const ros1 = join(openLogs(), "ros1");
    return readdirSync(ros1, { recursive: true, encoding: "utf8" })
      .filter((name) => name.endsWith(".bag") && !name.includes("empty"))
      .map((name) => join(ros1, name));
  };

  test("every bag is inspected without a crash, and its fragment is a manifest once filled in", async () => {
    expect(bags().length).toBeGreaterThan(8);
    for (const bag of bags()) {
      const { code, stdout, stderr } = await inspect(bag);
      expect({ bag, code, stderr }).toEqual({ bag, code: 0, stderr: "" });
      expectSound(stdout);
      const { manifest } = await inspection(bag);
      expect(Object.keys((await campaignOf(manifest)).signals)).toEqual(
        expect.arrayContaining(["vehicle_pose", "vehicle_setpoint"]),
      );
    }
  });

  test("the zero stamps of a setpoint are seen, and its clock told from the capture's", async () => {
    const bag = bags().find((path) => path.endsWith("exp_1_2_1_W0_1.bag"))!;
    const { topics, clocks } = await inspection(bag);
    const setpoint = topics.find(({ topic }) => topic.endsWith("/setpoint_position/local"))!;
    // SOURCE.md beside the bag: setpoints with zero stamps
    expect(setpoint.stamps?.zero).toBe(setpoint.messages);
    const pose = topics.find(({ topic }) => topic.endsWith("/vision_pose/pose"))!;
    expect(pose.clock).not.toBe(setpoint.clock);
    expect(clocks.map(({ name }) => name)).toContain(pose.clock);
  });
});

describeWith(["open-logs"], "inspect on every open log, whatever its format", () => {
  // the body runs where the suite is left out, too
  const logs =
    missing("open-logs") === null
      ? readdirSync(openLogs(), { recursive: true, encoding: "utf8" })
          .filter((name) => /\.(bag|mcap|db3|ulg|csv|log|c3d)$/i.test(name))
          .filter((name) => !/empty-file|asci-file|Empty\.c3d|1123x01EMG/.test(name))
          .map((name) => join(openLogs(), name))
      : [];

  test("there are some of each format", () => {
    for (const ending of ["bag", "mcap", "db3", "ulg", "csv", "log", "c3d"])
      expect(logs.filter((path) => path.toLowerCase().endsWith(`.${ending}`)).length).toBeGreaterThan(1);
  });

  test("none crashes, and each draft is a manifest once filled in", async () => {
    for (const log of logs) {
      const { manifest } = await inspectLog(log);
      const { signals } = await campaignOf(manifest);
      expect([log, Object.keys(signals)]).toEqual([log, expect.arrayContaining(["vehicle_pose", "vehicle_setpoint"])]);
    }
  }, 120_000);
});

describe("inspect on a folder of logs", () => {
  const table = (heading: string, row: (k: number) => readonly number[]): string =>
    `${heading}\n${Array.from({ length: 40 }, (_, k) => row(k).join(",")).join("\n")}\n`;
  const flightDay = (): string => {
    const day = mkdtempSync(join(folder, "day-"));
    for (const n of [1, 2, 10]) {
      const start = 1_789_378_200 + 100 * n;
      writeFileSync(
        join(day, `capture ${n}.csv`),
        table("t [s],Airframe x [mm],Airframe y [mm],Airframe z [mm]", (k) => [start + k / 100, n, k, 1500]),
      );
      writeFileSync(
        join(day, `onboard ${n}.csv`),
        table(
          "t [s],setpoint_x [m],setpoint_y [m],setpoint_z [m],gyro_x [rad/s],gyro_y [rad/s],gyro_z [rad/s]",
          (k) => [k / 50, n, 0, 1.5, 0, 0.01 * k, 0],
        ),
      );
    }
    writeFileSync(join(day, "capture 2 (copy).csv"), readFileSync(join(day, "capture 2.csv")));
    // within 3 mm on every axis
    writeFileSync(
      join(day, "before.csv"),
      table("t [s],Airframe x [mm],Airframe y [mm],Airframe z [mm]", (k) => [
        k / 100,
        k % 3,
        0.1 * (k % 7),
        1500 + (k % 2),
      ]),
    );
    writeFileSync(join(day, "broken.bag"), "#ROSBAG V2.0\n");
    writeFileSync(join(day, "notes.txt"), "wind from the west\n");
    return day;
  };

  test("lists each with duration and rates, tells copies and what cannot be read, and pairs the logs of each flight", async () => {
    const day = flightDay();
    const { code, stdout } = await inspect(day, "--json");
    expect(code).toBe(0);
    const { logs, others, manifest } = JSON.parse(stdout) as FolderInspection;
    expect(others).toBe(1);
    expect(logs.map(({ path, same_as }) => [path, same_as])).toEqual([
      ["before.csv", null],
      ["broken.bag", null],
      ["capture 1.csv", null],
      ["capture 2 (copy).csv", "capture 2.csv"],
      ["capture 2.csv", null],
      ["capture 10.csv", null],
      ["onboard 1.csv", null],
      ["onboard 2.csv", null],
      ["onboard 10.csv", null],
    ]);
    expect(logs[1]!.error).toContain("bag header");
    expect(logs[2]!.duration).toBeCloseTo(0.39, 9);
    expect(logs[2]!.signals).toEqual([
      { signal: "vehicle_pose", origin: expect.stringContaining("columns"), rate: expect.closeTo(100, 3) },
    ]);
    const campaign = await campaignOf(manifest);
    expect(campaign.runs.map(({ logs: of }) => of)).toEqual(
      [1, 2, 10].map((n) => ({ mocap: [`capture ${n}.csv`], onboard: [`onboard ${n}.csv`] })),
    );
    expect(campaign.signals.vehicle_pose).toMatchObject({
      log: "mocap",
      clock: "mocap",
      units: { t: "s", position: "mm" },
    });
    expect(campaign.signals.vehicle_rate).toMatchObject({
      log: "onboard",
      clock: "onboard",
      units: { t: "s", rate: "rad/s" },
    });
    expect(campaign.clocks.others.mocap).toMatchObject({ pair: ["vehicle_pose", "vehicle_rate"] });
    // 1789378200: Debian's date(1) for 2026-09-14T09:30:00Z
    expect(campaign.runs.map(({ block }) => block)).toEqual(Array(3).fill("day-2026-09-14"));
    expect(campaign.staticCaptures).toEqual(["before.csv"]);
  });

  test("one onboard log that is missing leaves the other pairs, and its capture stands as a comment", async () => {
    const day = flightDay();
    rmSync(join(day, "onboard 2.csv"));
    const { manifest } = JSON.parse((await inspect(day, "--json")).stdout) as FolderInspection;
    expect((await campaignOf(manifest)).runs.map(({ logs }) => logs)).toEqual(
      [1, 10].map((n) => ({ mocap: [`capture ${n}.csv`], onboard: [`onboard ${n}.csv`] })),
    );
    expect(manifest).toContain("# logs paired by the numbers in their names: check each pair");
    expect(manifest).toContain('  # left out, a capture without the onboard log of its flight: log: "capture 2.csv"\n');
    expect(manifest).toContain('  # left out, the same bytes as capture 2.csv: log: "capture 2 (copy).csv"\n');
  });

  test("a table whose columns are others is no run of this manifest, and what differs is said", async () => {
    const day = mkdtempSync(join(folder, "kinds-"));
    const whole = (x: string, unit: string): string =>
      table(
        `t [s],Airframe ${x} [${unit}],Airframe y [${unit}],Airframe z [${unit}],setpoint_x [m],setpoint_y [m],setpoint_z [m]`,
        (k) => [k / 100, 1, k, 1.5, 0, 0, 1.5],
      );
    for (const n of [1, 2, 3]) writeFileSync(join(day, `${n}.csv`), whole("x", "m"));
    for (const n of [2, 3]) writeFileSync(join(day, `${n}.csv`), `${whole("x", "m")}${n},1,1,1.5,0,0,1.5\n`);
    writeFileSync(join(day, "4.csv"), whole("x", "mm"));
    // a setpoint alone
    writeFileSync(
      join(day, "5.csv"),
      table("t [s],setpoint_x [m],setpoint_y [m],setpoint_z [m]", (k) => [k / 100, 0, 0, 1.5]),
    );
    // one that holds more can be read as the others
    writeFileSync(
      join(day, "6.csv"),
      table(
        "t [s],Airframe x [m],Airframe y [m],Airframe z [m],setpoint_x [m],setpoint_y [m],setpoint_z [m],gyro_x [rad/s],gyro_y [rad/s],gyro_z [rad/s]",
        (k) => [k / 100, 1, k, 1.5, 0, 0, 1.5, 0, 0, 0],
      ),
    );
    const { manifest } = JSON.parse((await inspect(day, "--json")).stdout) as FolderInspection;
    const { runs, signals } = await campaignOf(manifest);
    expect(runs.map(({ logs }) => logs[""])).toEqual(["1.csv", "2.csv", "3.csv", "6.csv"].map((path) => [path]));
    expect(Object.keys(signals)).toEqual(["vehicle_pose", "vehicle_setpoint"]);
    const left = manifest.split("\n").filter((line) => line.includes("# left out"));
    expect(left).toEqual([
      expect.stringMatching(/another kind \(.*; elsewhere: vehicle_pose by columns: .*mm.*\): log: "?4\.csv"?$/),
      expect.stringMatching(/another kind \(it holds vehicle_setpoint; without vehicle_pose\): log: "?5\.csv"?$/),
    ]);
    // the path of a log that is left out leads to it from elsewhere, too
    const elsewhere = join(mkdtempSync(join(folder, "campaign-")), "campaign.yaml");
    await inspect(day, "--draft", elsewhere);
    const path = /elsewhere: .*: log: "?([^"\n]*4\.csv)/.exec(readFileSync(elsewhere, "utf8"))![1]!;
    expect(existsSync(join(elsewhere, "..", path))).toBe(true);
  });

  test("a log that lacks what is of help alone is a run like the others, and that is said beside it", async () => {
    const day = mkdtempSync(join(folder, "help-"));
    const rates = "gyro_x [rad/s],gyro_y [rad/s],gyro_z [rad/s]";
    const flown = "t [s],Airframe x [m],Airframe y [m],Airframe z [m],setpoint_x [m],setpoint_y [m],setpoint_z [m]";
    for (const n of [1, 2, 3])
      writeFileSync(
        join(day, `${n}.csv`),
        table(n === 2 ? flown : `${flown},${rates}`, (k) => [
          ...[k / 100, n, k, 1.5, 0, 0, 1.5],
          ...(n === 2 ? [] : [0, 0, 0]),
        ]),
      );
    const draft = join(mkdtempSync(join(folder, "campaign-")), "campaign.yaml");
    await inspect(day, "--draft", draft);
    const manifest = readFileSync(draft, "utf8");
    const { runs, signals } = await campaignOf(manifest);
    expect(Object.keys(signals)).toContain("vehicle_rate");
    for (const { logs } of runs) expect(existsSync(join(draft, "..", logs[""]![0]!))).toBe(true);
    expect(runs).toHaveLength(3);
    expect(manifest.split("\n").filter((line) => line.includes("# without"))).toEqual([
      expect.stringMatching(/2\.csv.*\} {5}# without vehicle_rate$/),
    ]);
  });

  test("an onboard log's own pose is its estimate where there are captures; a capture or two beside whole logs are not", async () => {
    const pose = "t [s],Airframe x [m],Airframe y [m],Airframe z [m]";
    const both = `${pose},setpoint_x [m],setpoint_y [m],setpoint_z [m]`;
    const dayOf = async (captures: readonly number[], logs: readonly number[]) => {
      const day = mkdtempSync(join(folder, "estimate-"));
      for (const n of captures)
        writeFileSync(
          join(day, `capture ${n}.csv`),
          table(pose, (k) => [k / 100, n, k, 1.5]),
        );
      for (const n of logs)
        writeFileSync(
          join(day, `onboard ${n}.csv`),
          table(both, (k) => [k / 50, n, k, 1.5, n, 0, 1.5]),
        );
      return campaignOf((JSON.parse((await inspect(day, "--json")).stdout) as FolderInspection).manifest);
    };
    // the capture of the second flight is missing
    const paired = await dayOf([1, 3], [1, 2, 3]);
    expect(paired.runs.map(({ logs }) => logs)).toEqual(
      [1, 3].map((n) => ({ mocap: [`capture ${n}.csv`], onboard: [`onboard ${n}.csv`] })),
    );
    expect([paired.signals.vehicle_pose!.log, paired.signals.vehicle_estimate!.log]).toEqual(["mocap", "onboard"]);
    const whole = await dayOf([1], [1, 2, 3, 4]);
    expect(whole.runs.map(({ logs }) => logs)).toEqual([1, 2, 3, 4].map((n) => ({ "": [`onboard ${n}.csv`] })));
  });

  test("logs of which nothing tells which go together are all comments, not guesses", async () => {
    const day = mkdtempSync(join(folder, "untold-"));
    const capture = table("t [s],Airframe x [m],Airframe y [m],Airframe z [m]", (k) => [k / 100, 1, k, 1.5]);
    const onboard = table("t [s],setpoint_x [m],setpoint_y [m],setpoint_z [m]", (k) => [k / 50, 1, 0, 1.5]);
    // another row each, so that none is a copy
    for (const [k, name] of ["calm", "gusty"].entries())
      writeFileSync(join(day, `${name}.csv`), `${capture}${"9,1,1,1.5\n".repeat(k)}`);
    for (const [k, name] of ["dusk", "morning", "noon"].entries())
      writeFileSync(join(day, `${name}.csv`), `${onboard}${"9,1,0,1.5\n".repeat(k)}`);
    const { manifest } = JSON.parse((await inspect(day, "--json")).stdout) as FolderInspection;
    expect(manifest).toContain("runs:     # neither names nor times tell which logs go together");
    expect(manifest.split("\n").filter((line) => line.startsWith("  - {"))).toEqual([]);
    for (const name of ["calm", "gusty"])
      expect(manifest).toMatch(new RegExp(`# left out, a capture without the onboard log.*: log: ${name}\\.csv$`, "m"));
    for (const name of ["dusk", "morning", "noon"])
      expect(manifest).toMatch(
        new RegExp(`# left out, an onboard log without the capture.*: log: ${name}\\.csv$`, "m"),
      );
  });

  test("a heading's units stand in the draft as a manifest may write them", async () => {
    const path = join(mkdtempSync(join(folder, "units-")), "take.csv");
    const heading = "Time (Seconds),Airframe X (Millimeters),Airframe Y (Millimeters),Airframe Z (Millimeters)";
    const gyro = "gyro_x [dps],gyro_y [dps],gyro_z [dps]";
    writeFileSync(
      path,
      table(`${heading},${gyro}`, (k) => [k / 100, k, 2 * k, 1500, 0, 0, 0]),
    );
    const { signals } = await campaignOf((await inspectLog(path)).manifest);
    // second, millimetre (BIPM, SI brochure) and degrees per second, by the names that the README gives
    expect(signals.vehicle_pose!.units).toEqual({ t: "s", position: "mm" });
    expect(signals.vehicle_rate!.units).toEqual({ t: "s", rate: "deg/s" });
  });

  test("a ULog's rates are proposed as the gyro, the sensor's own before what the controller filtered", async () => {
    const drafted = async (...topics: readonly (readonly [string, string])[]): Promise<string | null> => {
      const path = join(mkdtempSync(join(folder, "rates-")), "flight.ulg");
      const log = new UlogBuilder(5_000_000);
      for (const [id, [topic, format]] of topics.entries()) {
        log.format(`${topic}:uint64_t timestamp;${format}`).subscribe(id, topic);
        for (let k = 0; k < 40; k++) log.data(id, fields(BigInt(5_000_000 + 4000 * k), 0.1, 0.2, 0.3));
      }
      writeFileSync(path, log.finish());
      const { manifest } = await inspectLog(path);
      return (await campaignOf(manifest)).signals.vehicle_rate?.topic ?? null;
    };
    // message definitions of PX4: VehicleAngularVelocity.msg, SensorCombined.msg
    const filtered = ["vehicle_angular_velocity", "float[3] xyz;"] as const;
    const sensor = ["sensor_combined", "float[3] gyro_rad;"] as const;
    expect(await drafted(filtered)).toBe("vehicle_angular_velocity");
    expect(await drafted(sensor)).toBe("sensor_combined");
    expect(await drafted(filtered, sensor)).toBe("sensor_combined");
  });

  test("a draft whose schema cannot be written beside it is not written either", async () => {
    const elsewhere = join(folder, "no-room");
    mkdirSync(elsewhere);
    // where the schema's folder would be lies a file
    writeFileSync(join(elsewhere, ".counterpoise"), "");
    const { code, stderr } = await inspect(flightDay(), "--draft", join(elsewhere, "campaign.yaml"));
    expect(code).toBe(2);
    expect(stderr).toContain("the draft cannot be written");
    expect(readdirSync(elsewhere)).toEqual([".counterpoise"]);
  });

  test("--draft writes a manifest whose paths lead from it to the logs, and never over a file", async () => {
    const day = flightDay();
    const elsewhere = mkdtempSync(join(folder, "campaign-"));
    const draft = join(elsewhere, "campaign.yaml");
    expect((await inspect(day, "--draft", draft)).code).toBe(0);
    const campaign = await campaignOf(readFileSync(draft, "utf8"));
    for (const { logs } of campaign.runs)
      for (const [path] of Object.values(logs)) expect(existsSync(join(elsewhere, path!))).toBe(true);
    // its first line names the schema that an editor completes by, which lies where it says
    const [, schema] = /^# yaml-language-server: \$schema=(\S+)\n/.exec(readFileSync(draft, "utf8"))!;
    expect(JSON.parse(readFileSync(join(elsewhere, schema!), "utf8"))).toEqual(jsonSchemaOf("manifest"));
    const again = await inspect(day, "--draft", draft);
    expect([again.code, again.stderr]).toEqual([2, expect.stringContaining("a file that is there already")]);
    const { code, stdout } = await inspect(join(day, "capture 1.csv"), "--draft", join(elsewhere, "one.yaml"));
    // a capture alone has no setpoint
    expect([code, stdout]).toEqual([1, expect.stringContaining(`Written: ${join(elsewhere, "one.yaml")}`)]);
    expect((await campaignOf(readFileSync(join(elsewhere, "one.yaml"), "utf8"))).runs[0]!.logs[""]![0]).toMatch(
      /capture 1\.csv$/,
    );
  });
});
