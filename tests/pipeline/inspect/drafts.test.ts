import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import type { Campaign } from "../../../src/contract/campaign.ts";
import { readCampaign } from "../../../src/contract/manifest/readCampaign.ts";
import { diskEffects } from "../../../src/pipeline/effects.ts";
import { inspectFolder } from "../../../src/pipeline/inspectFolder.ts";
import { loadCampaign } from "../../../src/pipeline/loadCampaign.ts";
import { folderText } from "../../../src/report/folderText.ts";
import type { FlightChanges } from "../../../src/simulation/flightShape.ts";
import { type BagMessage, writeBag } from "../../support/writeBag.ts";
import { flightMessages } from "../flightBag.ts";
import { shortFlight } from "../shortCampaign.ts";

const scratch = mkdtempSync(join(tmpdir(), "counterpoise-drafts-"));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

const circle: FlightChanges = {};
const line: FlightChanges = {
  trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 5, rampIn: 0 },
};

/** What a draft asks for: its places, comments left out. */
function placesOf(manifest: string): string[] {
  const text = manifest.replace(/ {5}# .*$/gm, "").replace(/^ *#.*$/gm, "");
  return text.match(/<[A-Z_]+>/g) ?? [];
}
function answered(manifest: string, answers: Readonly<Record<string, string>>): Promise<Campaign> {
  const text = manifest.replace(/<([A-Z_]+)>/g, (place, name: string) => answers[name] ?? place);
  return readCampaign(text, { file: "campaign.yaml", readText: () => Promise.reject(new Error("no table")) });
}
function dayOf(name: string, logs: Readonly<Record<string, readonly BagMessage[]>>): string {
  const day = join(scratch, name);
  for (const [path, messages] of Object.entries(logs)) {
    mkdirSync(join(day, path, ".."), { recursive: true });
    writeBag(join(day, path), messages, { perChunk: 2000 });
  }
  return day;
}
const flown = (seed: number, changes: FlightChanges): BagMessage[] => flightMessages(shortFlight(seed, changes));

test("the sample's folder asks five questions, and their answers make its committed manifest", async () => {
  const { manifest } = await inspectFolder("sample-data");
  expect(placesOf(manifest)).toEqual(["<LENGTH>", "<RUNS>", "<MASS>", "<TOOL_POINT>", "<ARM_BASE>"]);
  // arm base [60, 0, -120] mm less the tool point [0, 0, -45] mm, to the arm's own error
  expect(manifest).toMatch(
    /arm_base: <ARM_BASE> .*; the tool's markers show \[(?:59|6[01]) mm, -?[01] mm, -7[456] mm\] plus tool_point\n/,
  );
  const { campaign: committed } = await loadCampaign("sample-data/campaign.yaml", diskEffects);
  const weighted = committed.runs.filter(({ configuration }) => configuration === "weighted").map(({ id }) => id);
  const drafted = await answered(manifest, {
    LENGTH: "1.5 mm",
    RUNS: `[${weighted.join(", ")}]`,
    MASS: "540 g",
    TOOL_POINT: "[0 mm, 0 mm, -45 mm]",
    ARM_BASE: "[60 mm, 0 mm, -120 mm]",
  });
  expect(drafted.signals).toEqual(committed.signals);
  expect(drafted.clocks).toEqual(committed.clocks);
  expect([drafted.frames.toolPoint, drafted.frames.armBase]).toEqual([
    committed.frames.toolPoint,
    committed.frames.armBase,
  ]);
  expect([...drafted.staticCaptures].sort()).toEqual([...committed.staticCaptures].sort());
  // what was commanded: radius and speed, stroke and period of the committed manifest, to the digits that are drafted
  const [orbit, reach] = [drafted.trajectories["circle-yz"]!, drafted.trajectories["line-x"]!];
  expect(orbit).toMatchObject({ shape: "circle", plane: "yz", cycles: 12 });
  expect(reach).toMatchObject({ shape: "line", axis: "x", cycles: 10 });
  if (orbit.shape === "circle")
    expect([orbit.radius, orbit.speed]).toEqual([expect.closeTo(0.06, 4), expect.closeTo(0.25, 3)]);
  if (reach.shape === "line")
    expect([reach.stroke, reach.period]).toEqual([expect.closeTo(0.15, 4), expect.closeTo(1.9, 3)]);
  // flight-07 is filed under what it did not fly: that is one of the sample's faults, and the draft says what it flew
  const names: Readonly<Record<string, string>> = { orbit: "circle-yz", reach: "line-x" };
  for (const [k, run] of committed.runs.entries()) {
    const own = drafted.runs[k]!;
    expect([own.id, own.configuration, own.started]).toEqual([run.id, run.configuration, run.started]);
    expect([own.id, own.trajectory]).toEqual([run.id, run.id === "flight-07" ? "circle-yz" : names[run.trajectory]]);
  }
  expect(new Set(drafted.runs.map(({ block }, k) => `${block} ${committed.runs[k]!.block}`)).size).toBe(2);
}, 120_000);

describe("a flight day of folders that say how it was flown", () => {
  const day = dayOf("told", {
    "no weights/1.bag": flown(1, circle),
    "no weights/2.bag": flown(2, line),
    "no weights/3.bag": flown(3, circle),
    "with weights/1.bag": flown(4, circle),
    "with weights/2.bag": flown(5, line),
    "with weights/3.bag": flown(6, line),
  });

  test("is filed by them, and what was commanded by the commands", async () => {
    const { manifest } = await inspectFolder(day);
    expect(placesOf(manifest)).toEqual(["<LENGTH>", "<MASS>", "<TOOL_POINT>", "<ARM_BASE>"]);
    const campaign = await answered(manifest, {
      LENGTH: "1 mm",
      MASS: "540 g",
      TOOL_POINT: "[0 mm, 0 mm, -45 mm]",
      ARM_BASE: "[60 mm, 0 mm, -120 mm]",
    });
    expect([campaign.baseline, campaign.candidate]).toEqual(["no weights", "with weights"]);
    expect(campaign.runs.map(({ configuration, trajectory }) => `${configuration}: ${trajectory}`)).toEqual([
      ...["circle-yz", "line-x", "circle-yz"].map((name) => `no weights: ${name}`),
      ...["circle-yz", "line-x", "line-x"].map((name) => `with weights: ${name}`),
    ]);
    expect(campaign.trajectories["line-x"]).toMatchObject({ shape: "line", axis: "x", cycles: 5 });
    expect(manifest).toContain("# from the arm's command of 3 of 6 runs");
  }, 60_000);

  test("a log in which another body seems to be the vehicle is named, and follows its like", async () => {
    const exchanged = flown(7, circle).map((message) => ({
      ...message,
      topic: { "/mocap/airframe": "/mocap/tool", "/mocap/tool": "/mocap/airframe" }[message.topic] ?? message.topic,
    }));
    writeBag(join(day, "with weights", "4.bag"), exchanged, { perChunk: 2000 });
    const { manifest } = await inspectFolder(day);
    rmSync(join(day, "with weights", "4.bag"));
    const line = manifest.split("\n").find((each) => each.includes("4.bag"))!;
    expect(line).toMatch(/# .*\/mocap\/tool shows the vehicle_pose here/);
    expect(manifest).toContain("vehicle_pose: { topic: /mocap/airframe, clock: mocap }");
  }, 60_000);
});

test("one log of two flights is two runs, each with the span in which it was flown", async () => {
  const landed: FlightChanges = { timeline: { takeOff: true } };
  const [first, second] = [shortFlight(11, { ...circle, ...landed }), shortFlight(12, { ...line, ...landed })];
  const messages = flightMessages(first);
  const [start] = messages[0]!.received;
  const last = messages.at(-1)!.received[0];
  const shift = last + 4 - flightMessages(second)[0]!.received[0];
  const later = flightMessages(second).map((message) => {
    const data = Buffer.from(message.data);
    // the header's stamp, seconds, after the sequence number
    data.writeUInt32LE(data.readUInt32LE(4) + shift, 4);
    return { ...message, received: [message.received[0] + shift, message.received[1]] as const, data };
  });
  const day = dayOf("long", { "long.bag": [...messages, ...later] });
  const { manifest } = await inspectFolder(day);
  const spans = [...manifest.matchAll(/id: (\S+), span: \[([\d.]+) s, ([\d.]+) s\], trajectory: (\S+),/g)];
  expect(spans.map(([, id, , , trajectory]) => [id, trajectory])).toEqual([
    ["long-1", "circle-yz"],
    ["long-2", "line-x"],
  ]);
  expect(Number(spans[0]![3])).toBeLessThan(last + 4 - start);
  expect(Number(spans[1]![2])).toBeGreaterThan(last - start - 4);
}, 60_000);

test("a folder of twenty fits a screen and says first what could be judged and what the manifest asks for", async () => {
  const inspection = await inspectFolder("sample-data");
  const lines = folderText(inspection, { width: 80, colour: false, written: null }).trimEnd().split("\n");
  expect(lines.length).toBeLessThanOrEqual(24);
  expect(lines.slice(1, 6).join(" ")).toMatch(
    /22 logs .* 20 runs, 2 static captures, flown on 2 days\. Could be judged/,
  );
  // readings of a force sensor are no flights
  expect(lines.slice(1, 4).join(" ")).toMatch(/Not looked into: bench\/ \(124 of a force sensor: a bench/);
  expect(lines.join(" ")).toContain("The manifest asks for 5 things");
  const { summary } = await inspectFolder(dayOf("capture", { "a.bag": justPoses(21), "b.bag": justPoses(22) }));
  expect([summary.subjects, summary.lacking[0]]).toEqual([
    [],
    "no setpoint of the vehicle: without it there is no tracking error",
  ]);
}, 60_000);

const justPoses = (seed: number): BagMessage[] => flown(seed, circle).filter(({ topic }) => topic.startsWith("/mocap"));
