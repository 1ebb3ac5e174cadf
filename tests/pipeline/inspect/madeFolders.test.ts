import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import type { Campaign } from "../../../src/contract/campaign.ts";
import type { FolderInspection } from "../../../src/contract/inspection.ts";
import { readCampaign } from "../../../src/contract/manifest/readCampaign.ts";
import type { SignalName } from "../../../src/foundation/tracks.ts";
import { evaluateCampaign } from "../../../src/pipeline/evaluateCampaign.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import type { FlightChanges } from "../../../src/simulation/flightShape.ts";
import type { SimulatedFlight } from "../../../src/simulation/simulateFlight.ts";
import { buildMcap } from "../../readers/mcap/buildMcap.ts";
import { lz4Stored } from "../../readers/rosbag/poses.ts";
import { type BagMessage, buildBag } from "../../support/writeBag.ts";
import { flightMessages } from "../flightBag.ts";
import { shortFlight } from "../shortCampaign.ts";

// Folders as flight days leave them, each with what makes drafts go wrong. What is true of a folder is what the simulation flew.

const scratch = mkdtempSync(join(tmpdir(), "counterpoise-made-"));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

type Files = Readonly<Record<string, Uint8Array | string>>;
function folderOf(name: string, files: Files): string {
  for (const [path, bytes] of Object.entries(files)) {
    mkdirSync(join(scratch, name, path, ".."), { recursive: true });
    writeFileSync(join(scratch, name, path), bytes);
  }
  return join(scratch, name);
}

const line: FlightChanges = {
  trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 5, rampIn: 0 },
};
/** Flight `k` of a day, ten minutes after the one before. */
const flight = (k: number, changes: FlightChanges = {}): SimulatedFlight =>
  shortFlight(k, { start: 1_760_432_400_000_000_000n + BigInt(k) * 600_000_000_000n, ...changes });
const bag = (messages: readonly BagMessage[]): Buffer => buildBag(messages, { perChunk: 2000 }).bytes;
const renamed = (messages: readonly BagMessage[], names: Readonly<Record<string, string>>): BagMessage[] =>
  messages.map((message) => ({ ...message, topic: names[message.topic] ?? message.topic }));

/** What a draft asks for: its places, comments left out, each once. */
function asksOf(manifest: string): string[] {
  const text = manifest.replace(/ {5}# .*$/gm, "").replace(/^ *#.*$/gm, "");
  return [...new Set(text.match(/<[A-Z_]+>/g))];
}
const answers: Readonly<Record<string, string>> = {
  LENGTH: "1.5 mm",
  RUNS: "[]",
  MASS: "540 g",
  TOOL_POINT: "[0 mm, 0 mm, -45 mm]",
  ARM_BASE: "[60 mm, 0 mm, -120 mm]",
  WORLD: "frd",
  FRAME: "arm_base",
};
/** The manifest that a draft becomes once a person has answered. */
function finished({ manifest }: FolderInspection, table?: string): Promise<Campaign> {
  const text = manifest.replace(/<([A-Z_]+)>/g, (place, name: string) => answers[name] ?? place);
  return readCampaign(text, {
    file: "campaign.yaml",
    readText: () => (table === undefined ? Promise.reject(new Error("no table")) : table),
  });
}
const topicsOf = ({ signals }: Campaign): Record<string, string | null> =>
  Object.fromEntries(Object.entries(signals).map(([name, { topic }]) => [name, topic]));
const topics: Readonly<Partial<Record<SignalName, string>>> = {
  vehicle_pose: "/mocap/airframe",
  effector_pose: "/mocap/tool",
  vehicle_setpoint: "/onboard/hold_point",
  effector_command: "/arm/goal",
  vehicle_rate: "/imu",
};
const leftOf = ({ manifest }: FolderInspection): string[] =>
  manifest
    .split("\n")
    .flatMap((each) => (each.startsWith("  # left out, ") ? [each.slice("  # left out, ".length)] : []));

test("names that say nothing: roles, trajectories and clocks are those that were flown, five answers are asked", async () => {
  const names = {
    "/mocap/airframe": "/e",
    "/mocap/tool": "/d",
    "/onboard/hold_point": "/c",
    "/arm/goal": "/b",
    "/imu": "/a",
  };
  const logs = [1, 2, 3, 4].map((k) => [`${k}.bag`, bag(renamed(flightMessages(flight(k, k > 2 ? line : {})), names))]);
  const found = await inspectFolder(folderOf("nothing", Object.fromEntries(logs)));
  expect(asksOf(found.manifest)).toEqual(["<LENGTH>", "<RUNS>", "<MASS>", "<TOOL_POINT>", "<ARM_BASE>"]);
  const campaign = await finished(found);
  expect(topicsOf(campaign)).toEqual({
    vehicle_pose: "/e",
    effector_pose: "/d",
    vehicle_setpoint: "/c",
    effector_command: "/b",
    vehicle_rate: "/a",
  });
  expect(campaign.clocks.others.mocap).toMatchObject({ kind: "same-motion", pair: ["vehicle_pose", "vehicle_rate"] });
  expect(campaign.runs.map(({ trajectory }) => trajectory)).toEqual(["circle-yz", "circle-yz", "line-x", "line-x"]);
  const circle = campaign.trajectories["circle-yz"]!;
  // radius and speed of the simulation, to the digits that a draft writes
  if (circle.shape !== "circle") throw new Error("no circle");
  expect([circle.radius, circle.speed, circle.cycles]).toEqual([expect.closeTo(0.06, 4), expect.closeTo(0.25, 3), 6]);
}, 60_000);

test("names that lie: what turns as the gyro says is the vehicle, be it called a tool", async () => {
  const names = {
    "/mocap/airframe": "/mocap/tool",
    "/mocap/tool": "/mocap/airframe",
    "/onboard/hold_point": "/arm/goal",
    "/arm/goal": "/vehicle/setpoint",
  };
  const logs = [1, 2].map((k) => [`weights_${k}.bag`, bag(renamed(flightMessages(flight(k)), names))]);
  const found = await inspectFolder(folderOf("lies", Object.fromEntries(logs)));
  expect(topicsOf(await finished(found))).toEqual({
    vehicle_pose: "/mocap/tool",
    effector_pose: "/mocap/airframe",
    vehicle_setpoint: "/arm/goal",
    effector_command: "/vehicle/setpoint",
    vehicle_rate: "/imu",
  });
}, 60_000);

/** A pose as a capture exports it: a table on the capture's own clock, which counts from its first row. */
function exported({ signals }: SimulatedFlight, names: readonly SignalName[]): string {
  const [first] = names.map((name) => signals.find(({ signal }) => signal === name)!);
  const others = names.map((name) => signals.find(({ signal }) => signal === name)!);
  const heading = names.flatMap((name) => ["x", "y", "z", "qx", "qy", "qz", "qw"].map((column) => `${name}_${column}`));
  const rows = Array.from(first!.stamped!.seconds, (at, k) => [
    (at - first!.stamped!.seconds[0]!).toFixed(4),
    ...others.flatMap(({ columns }) => Object.values(columns).map((column) => column[k]!.toFixed(6))),
  ]);
  return `${["time [s]", ...heading].join(",")}\n${rows.map((row) => row.join(",")).join("\n")}\n`;
}

test("a gyro that turns otherwise than the vehicle shows no clock: which offset lies between the clocks is asked", async () => {
  // of another flight, as where the wrong vehicle's log lies beside the capture: the vehicle shakes by chance, and differently
  const strange = flight(77).signals.find(({ signal }) => signal === "vehicle_rate")!;
  const mixed = [1, 2].map((k) => {
    const flown = flight(k);
    const signals = flown.signals.map((each) =>
      each.signal === "vehicle_rate" ? { ...strange, received: each.received } : each,
    );
    return [`${k}.bag`, bag(flightMessages({ ...flown, signals }))];
  });
  const { manifest } = await inspectFolder(folderOf("strange gyro", Object.fromEntries(mixed)));
  expect(manifest).toMatch(/vehicle_rate: .*# .*does not turn as the vehicle's pose does/);
  expect(manifest).toContain("mocap: { offset: <TIME> }");
  expect(manifest).not.toContain("same_motion");
}, 60_000);

test("two clocks with a file each: paired by their numbers, the capture on a clock of its own that the gyro shows", async () => {
  const files: Record<string, string | Buffer> = {};
  for (const k of [1, 2, 3]) {
    const flown = flight(k);
    files[`take ${k}.csv`] = exported(flown, ["vehicle_pose"]);
    files[`rec${k}.bag`] = bag(flightMessages(flown).filter(({ topic }) => !topic.startsWith("/mocap")));
  }
  const found = await inspectFolder(folderOf("two", files));
  const campaign = await finished(found);
  expect(campaign.runs.map(({ logs }) => logs)).toEqual(
    [1, 2, 3].map((k) => ({ mocap: [`take ${k}.csv`], onboard: [`rec${k}.bag`] })),
  );
  expect(campaign.signals.vehicle_pose).toMatchObject({ log: "mocap", clock: "mocap" });
  expect(campaign.signals.vehicle_setpoint).toMatchObject({ log: "onboard", topic: "/onboard/hold_point" });
  expect(campaign.clocks.others.mocap).toMatchObject({ pair: ["vehicle_pose", "vehicle_rate"], search: null });
  expect(found.manifest).toContain("# logs paired by the numbers in their names");
}, 60_000);

/** The messages of a bag in the other container, as they were: ROS 1's bytes and definitions. */
function asMcap(messages: readonly BagMessage[]): Promise<Uint8Array> {
  return buildMcap(
    messages.map(({ topic, type, md5, received: [sec, nsec], data }) => ({
      topic,
      type,
      encoding: "ros1",
      schemaEncoding: "ros1msg",
      definition: "",
      metadata: { md5sum: md5! },
      logTime: BigInt(sec) * 1_000_000_000n + BigInt(nsec),
      data,
    })),
    { chunkSize: 1_000_000 },
  );
}

test("foreign files, copies and torn recordings among the logs: each is named for what it is, and none is a run", async () => {
  const all = [1, 2, 3].map((k) => flightMessages(flight(k)));
  const [first, second] = all as [BagMessage[], BagMessage[]];
  const compressed = buildBag(first, { perChunk: 2000, compression: "lz4", pack: lz4Stored }).bytes;
  const contained = await asMcap(second);
  const found = await inspectFolder(
    folderOf("foreign", {
      'Prüfung "1".bag': bag(first),
      "flug-2.bag": bag(second),
      "flug-3.bag": bag(all[2]!),
      "flug-3.bag.active": buildBag(all[2]!.slice(0, 4000), { perChunk: 2000, unindexed: true }).bytes,
      "torn.bag.active": buildBag(flightMessages(flight(4)).slice(0, 9000), { perChunk: 2000, unindexed: true }).bytes,
      'Prüfung "1" (lz4).bag': compressed,
      "converted.mcap": contained,
      "broken.bag": bag(all[2]!).subarray(0, 300),
      "notes.txt": "windy in the afternoon\n",
      "photo.png": "not a picture",
      "archive.zip": "PK",
    }),
  );
  const campaign = await finished(found);
  expect(campaign.runs.map(({ logs }) => logs[""]![0])).toEqual(
    ["flug-2.bag", "flug-3.bag", 'Prüfung "1".bag', "torn.bag.active"].sort((a, b) =>
      a.localeCompare(b, "en", { numeric: true }),
    ),
  );
  const left = leftOf(found);
  expect(left).toContainEqual(
    expect.stringMatching(/^the same messages as Prüfung "1"\.bag: log: .*Prüfung.*lz4.*\.bag"$/),
  );
  expect(left).toContainEqual("the same messages as flug-2.bag: log: converted.mcap");
  expect(left).toContainEqual("an unfinished recording of flug-3.bag: log: flug-3.bag.active");
  expect(left).toContainEqual(expect.stringMatching(/log: broken\.bag$/));
  expect(left).toHaveLength(4);
  // what was torn is a run that says so
  expect(found.manifest).toMatch(/log: torn\.bag\.active.*# damaged: /);
  expect(found.others).toBe(3);
}, 60_000);

test("bags and MCAP files of equal topics are runs of one campaign", async () => {
  const contained = await asMcap(flightMessages(flight(2)));
  const found = await inspectFolder(
    folderOf("containers", {
      "1.bag": bag(flightMessages(flight(1))),
      "2.mcap": contained,
      "3.bag": bag(flightMessages(flight(3))),
    }),
  );
  expect((await finished(found)).runs.map(({ id }) => id)).toEqual(["1", "2", "3"]);
  expect(leftOf(found)).toEqual([]);
}, 60_000);

test("a capture with y up, as its take-offs show: the draft says so, and finds the setpoint that is logged with z up", async () => {
  const changes: FlightChanges = {
    frames: { worldUp: "y", bodyUp: "y" },
    timeline: { hold: 8, pause: 1, rest: 2, takeOff: true },
  };
  const logs = [1, 2].map((k) => [`${k}.bag`, bag(flightMessages(flight(k, changes)))]);
  const found = await inspectFolder(folderOf("yup", Object.fromEntries(logs)));
  const campaign = await finished(found);
  expect(campaign.frames.worldUp).toBe("y");
  expect(topicsOf(campaign)).toEqual(topics);
  // without a take-off nothing shows it
  const upright = await inspectFolder(folderOf("zup", { "1.bag": bag(flightMessages(flight(1))) }));
  expect((await finished(upright)).frames.worldUp).toBe("z");
}, 60_000);

test("a world with z down, as its take-offs show: which one it is is asked once, for all that is logged in it", async () => {
  const changes: FlightChanges = { timeline: { hold: 8, pause: 1, rest: 2, takeOff: true } };
  // half a turn about x: the z, y of positions and the y, z of quaternions and rates change sign, on both sides of the attitude
  const down = (flown: SimulatedFlight): SimulatedFlight => ({
    ...flown,
    signals: flown.signals.map((signal) => {
      if (signal.signal === "effector_command") return signal;
      const minus = ["y", "z", "qy", "qz", "wy", "wz"];
      const columns = Object.entries(signal.columns).map(([name, column]) => [
        name,
        minus.includes(name) ? column.map((value) => -value) : column,
      ]);
      return { ...signal, columns: Object.fromEntries(columns) };
    }),
  });
  const logs = [1, 2].map((k) => [`${k}.bag`, bag(flightMessages(down(flight(k, changes))))]);
  const found = await inspectFolder(folderOf("down", Object.fromEntries(logs)));
  expect(asksOf(found.manifest)).toContain("<WORLD>");
  expect(found.manifest.replace(/ {5}#.*$/gm, "").match(/<WORLD>/g)).toHaveLength(1);
  const { signals } = await finished(found);
  for (const name of ["vehicle_pose", "effector_pose", "vehicle_setpoint"] as const)
    expect(signals[name]!.axes, name).toEqual({ world: "frd", body: "frd" });
  expect(signals.vehicle_rate!.axes).toEqual({ world: "enu", body: "frd" });
}, 60_000);

test("a table of runs beside the logs files them, packs in names are packs, and what a log says otherwise stands beside", async () => {
  const table =
    "log,configuration,trajectory,block\nd/1 bat1.bag,bare,orbit,a\nd/2 bat1.bag,weighted,orbit,a\nd/3 bat2.bag,bare,reach,b\nd/4 bat2.bag,weighted,orbit,b\n";
  const files: Record<string, string | Buffer> = { "runs.csv": table };
  for (const k of [1, 2, 3, 4])
    files[`d/${k} bat${k < 3 ? 1 : 2}.bag`] = bag(flightMessages(flight(k, k > 2 ? line : {})));
  const day = folderOf("tabled", files);
  const found = await inspectFolder(day);
  const campaign = await finished(found, table);
  expect(campaign.runs.map(({ configuration, trajectory }) => `${configuration} ${trajectory}`)).toEqual([
    "bare orbit",
    "weighted orbit",
    "bare reach",
    "weighted orbit",
  ]);
  expect([campaign.baseline, campaign.candidate]).toEqual(["bare", "weighted"]);
  expect(campaign.trajectories).toMatchObject({
    orbit: { shape: "circle", plane: "yz" },
    reach: { shape: "line", axis: "x", cycles: 5 },
  });
  expect(found.manifest).toMatch(/# d\/4 bat2\.bag: line-x commanded, filed as orbit/);
  // without the table the packs are found in the names, and are the blocks of the one day
  rmSync(join(day, "runs.csv"));
  const bare = await inspectFolder(day);
  const { runs } = await finished(bare);
  expect(runs.map(({ battery, block }) => [battery, block])).toEqual(
    ["pack-1", "pack-1", "pack-2", "pack-2"].map((pack) => [pack, pack]),
  );
}, 60_000);

test("a draft stays a draft until it is answered: every open place is named with its line, and nothing else", async () => {
  const day = folderOf("half", { "1.bag": bag(flightMessages(flight(1))), "2.bag": bag(flightMessages(flight(2))) });
  const { manifest } = await inspectFolder(day);
  const half = manifest.replace("<LENGTH>", "1.5 mm").replace("<MASS>", "540 g");
  const refused = await readCampaign(half, { file: "c.yaml", readText: () => "" }).catch(
    (error: Error) => error.message,
  );
  for (const place of ["<RUNS>", "<TOOL_POINT>", "<ARM_BASE>"]) {
    const at = half.split("\n").findIndex((each) => each.replace(/#.*/, "").includes(place)) + 1;
    expect(refused).toMatch(new RegExp(`c\\.yaml:${at}.*${place}`));
  }
  expect(refused).not.toContain("<LENGTH>");
  expect(String(refused).match(/c\.yaml:/g)).toHaveLength(3);
  expect(readFileSync(join(day, "1.bag")).length).toBeGreaterThan(0);
}, 60_000);

test("where the arm's command is the only one, no setpoint is asked for: nothing can be judged, and a log cut off before its first message says so", async () => {
  const flown = flightMessages(flight(1));
  const { manifest, summary } = await inspectFolder(
    folderOf("unasked", {
      "1.bag": bag(flown.filter(({ topic }) => topic !== "/onboard/hold_point")),
      "2.bag": bag(flown).subarray(0, 200),
    }),
  );
  expect(summary.subjects).toEqual([]);
  expect(summary.lacking.join()).toContain("no setpoint of the vehicle");
  expect(manifest).toMatch(/vehicle_setpoint: \{ topic: <TOPIC>.*nothing of a known type seems to be it/);
  expect(manifest).toMatch(/left out, it holds no message \(.*: log: "?2\.bag/);
}, 60_000);

test("a capture that counts millimetres is read so, and a capture's own topic beside a capture is no estimate", async () => {
  const large = (flown: SimulatedFlight): SimulatedFlight => ({
    ...flown,
    signals: flown.signals.map((signal) => {
      if (signal.signal !== "vehicle_pose" && signal.signal !== "effector_pose") return signal;
      const columns = Object.entries(signal.columns).map(([name, column]) => [
        name,
        ["x", "y", "z"].includes(name) ? column.map((value) => 1000 * value) : column,
      ]);
      return { ...signal, columns: Object.fromEntries(columns) };
    }),
  });
  const found = await inspectFolder(folderOf("large", { "1.bag": bag(flightMessages(large(flight(1)))) }));
  const campaign = await finished(found);
  expect(topicsOf(campaign)).toEqual(topics);
  expect(campaign.signals.vehicle_pose!.units).toEqual({ position: "mm" });
  expect(campaign.signals.vehicle_setpoint!.units).toBeNull();
  // 137 ms before the vehicle's clock: as an estimate it would confirm any offset
  const files: Record<string, string | Buffer> = {};
  for (const k of [1, 2]) {
    files[`take ${k}.csv`] = exported(flight(k), ["vehicle_pose"]);
    files[`rec${k}.bag`] = bag(flightMessages(flight(k)).filter(({ topic }) => topic !== "/mocap/tool"));
  }
  const beside = await finished(await inspectFolder(folderOf("beside", files)));
  expect(beside.signals.vehicle_estimate).toBeUndefined();
}, 60_000);

test("a draft of which the places are filled in evaluates as it is: every run used, none of another trajectory", async () => {
  const files: Record<string, Buffer> = {};
  for (const k of [1, 2, 3]) {
    files[`bare/${k}.bag`] = bag(flightMessages(flight(k)));
    files[`weights/${k}.bag`] = bag(flightMessages(flight(10 + k)));
  }
  const day = folderOf("whole", files);
  const { manifest } = await inspectFolder(day);
  expect(asksOf(manifest)).toEqual(["<LENGTH>", "<MASS>", "<TOOL_POINT>", "<ARM_BASE>"]);
  const path = join(day, "campaign.yaml");
  writeFileSync(
    path,
    manifest.replace(/<([A-Z_]+)>/g, (place, name: string) => answers[name] ?? place),
  );
  const { runs, cells, settings } = await evaluateCampaign(path, { look: false });
  expect(runs.map(({ id, used }) => `${id} ${used}`).sort()).toEqual(
    ["1", "1-2", "2", "2-2", "3", "3-2"].map((id) => `${id} true`),
  );
  expect(runs.flatMap(({ checks }) => checks.filter(({ severity }) => severity !== "note"))).toEqual([]);
  expect([settings.baseline, settings.candidate]).toEqual(["bare", "weights"]);
  expect(cells.filter((cell) => cell.in_family)).toHaveLength(6);
}, 60_000);
