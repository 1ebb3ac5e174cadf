import { mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { runCli } from "../../src/cli/runCli.ts";
import type { LogInspection } from "../../src/contract/inspection.ts";
import { readCampaign } from "../../src/contract/manifest/readCampaign.ts";
import { textWidth } from "../../src/report/text/textWidth.ts";
import { describeWith, openLogs } from "../support/available.ts";
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
 * A made log of 2 s: the capture's poses at 100 Hz, stamped 130 ms before receipt, with 0.5 s missing after 1 s; the set point
 * at 10 Hz, stamped 2 ms before receipt, with one stamp zero, one twice and one backward; a gyro like the set point at 100 Hz.
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
  };
  return fragment.replace(/<([A-Z]+)>/g, (place, name: string) => values[name] ?? place);
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

test("what is no log is refused with code 2 and no stack", async () => {
  const path = join(folder, "campaign.yaml");
  writeFileSync(path, "title: no log\n");
  for (const wrong of [path, join(folder, "nothing.bag"), folder]) {
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

  test("the zero stamps of a set point are seen, and its clock told from the capture's", async () => {
    const bag = bags().find((path) => path.endsWith("exp_1_2_1_W0_1.bag"))!;
    const { topics, clocks } = await inspection(bag);
    const setpoint = topics.find(({ topic }) => topic.endsWith("/setpoint_position/local"))!;
    // SOURCE.md beside the bag: set points with zero stamps
    expect(setpoint.stamps?.zero).toBe(setpoint.messages);
    const pose = topics.find(({ topic }) => topic.endsWith("/vision_pose/pose"))!;
    expect(pose.clock).not.toBe(setpoint.clock);
    expect(clocks.map(({ name }) => name)).toContain(pose.clock);
  });
});
