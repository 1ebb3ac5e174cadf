import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { McapStreamReader } from "@mcap/core";
import { expect, test } from "vitest";
import type { Recording } from "../../../src/foundation/recording.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { type Entry, writeRecords } from "./writeRecords.ts";

// The counts and numbers expected are those put into the files below: poses have x = their number.

const folder = temporaryFolder();
let files = 0;
const pose = { schema: 1, name: "geometry_msgs/msg/PoseStamped" } as const;
const airframe = { channel: 3, topic: "/mocap/airframe" } as const;
const tool = { channel: 3, topic: "/mocap/tool" } as const;
const from = (first: number, count: number): number[] => Array.from({ length: count }, (_, i) => first + i);

function file(chunks: readonly (readonly Entry[])[], indexed: boolean): string {
  const path = join(folder, `redeclared-${files++}.mcap`);
  writeFileSync(path, writeRecords(chunks, indexed));
  return path;
}

function read(path: string, span?: readonly [number, number]): Promise<Recording> {
  return readLog(
    [path],
    [
      { signal: "vehicle_pose", topic: "/mocap/airframe" },
      { signal: "effector_pose", topic: "/mocap/tool" },
    ],
    span === undefined ? {} : { span },
  );
}

function x(recording: Recording, signal: "vehicle_pose" | "effector_pose"): number[] {
  return [...(recording.signals.get(signal)?.columns.x ?? [])];
}

/** Airframe, then the tool on the same channel, then the airframe again; the last two without a declaration of their own. */
const chunks: readonly (readonly Entry[])[] = [
  [pose, airframe, { poses: 10, on: 3, first: 0 }, tool, { poses: 4, on: 3, first: 10 }],
  [{ poses: 6, on: 3, first: 14 }],
  [{ poses: 2, on: 3, first: 20 }, airframe, { poses: 5, on: 3, first: 22 }],
  [{ poses: 3, on: 3, first: 27 }],
];

test("the format's own reader refuses such a file: its rule forbids it", () => {
  const reader = new McapStreamReader();
  reader.append(writeRecords(chunks, false));
  expect(() => {
    while (reader.nextRecord() !== undefined);
  }).toThrow(/[Cc]hannel/);
});

test("a channel declared again as another topic: each message belongs to the declaration before it", async () => {
  const path = file(chunks, false);
  const told =
    "channel 3 is declared as /mocap/airframe (schema 1) and again as /mocap/tool (schema 1): each message is taken by the declaration before it";
  const whole = await read(path);
  expect(x(whole, "vehicle_pose")).toEqual([...from(0, 10), ...from(22, 5), ...from(27, 3)]);
  expect(x(whole, "effector_pose")).toEqual(from(10, 12));
  expect(whole.recovered).toBe(told);
  const survey = await surveyLog(path);
  expect(survey.recovered).toBe(told);
  expect(survey.topics.map(({ topic, messages }) => [topic, messages])).toEqual([
    ["/mocap/airframe", 18],
    ["/mocap/tool", 12],
  ]);
  // cut out so that the chunks which declare are not read
  const part = await read(path, [0.14, 0.2]);
  expect(x(part, "vehicle_pose")).toEqual([]);
  expect(x(part, "effector_pose")).toEqual(from(14, 6));
  expect(x(await read(path, [0.27, 9]), "vehicle_pose")).toEqual(from(27, 3));
});

test("an index that knows the last declaration alone: what the others declare is left out and reported, never mixed", async () => {
  const recording = await read(file(chunks, true));
  expect(x(recording, "vehicle_pose")).toEqual([...from(0, 10), ...from(22, 5), ...from(27, 3)]);
  expect(recording.missing[0]).toMatchObject({ signal: "effector_pose", reason: "absent" });
  expect(recording.recovered).toMatch(
    /gave 10 message\(s\) where the index says 14: channel 3, \/mocap\/airframe \(schema 1\) by the index, is declared as \/mocap\/tool \(schema 1\)/,
  );
  expect(recording.recovered).toMatch(/gave 0 message\(s\) where the index says 6/);
  expect(recording.recovered).toMatch(/gave 5 message\(s\) where the index says 7/);
});

test("a channel declared again with another type, in chunks and between them", async () => {
  const point = { schema: 2, name: "geometry_msgs/msg/PointStamped" } as const;
  for (const indexed of [false, true]) {
    const path = file(
      [
        [pose, airframe, { poses: 10, on: 3, first: 0 }],
        [point, { ...airframe, of: 2 }, { poses: 4, on: 3, first: 10 }],
        [airframe, { poses: 3, on: 3, first: 14 }],
      ],
      indexed,
    );
    const recording = await readLog([path], [{ signal: "vehicle_pose", topic: "/mocap/airframe" }]);
    if (indexed) {
      expect(x(recording, "vehicle_pose")).toEqual([...from(0, 10), ...from(14, 3)]);
      expect(recording.recovered).toMatch(/gave 0 message\(s\) where the index says 4: channel 3/);
    } else {
      // two types on one topic are never mixed
      expect(recording.missing[0]!.message).toMatch(/PoseStamped .*and geometry_msgs\/msg\/PointStamped/);
      expect(recording.recovered).toMatch(/channel 3 is declared as \/mocap\/airframe \(schema 1\) and again as/);
    }
  }
});

test("a schema declared as two types is none: its channels are not decoded", async () => {
  const chunks: readonly (readonly Entry[])[] = [
    [pose, airframe, { poses: 10, on: 3, first: 0 }],
    [
      { schema: 1, name: "lab_msgs/msg/Tip", definition: "float64 reach" },
      { poses: 4, on: 3, first: 10 },
    ],
  ];
  const recording = await read(file(chunks, false));
  expect(recording.signals.size).toBe(0);
  expect(recording.missing[0]!.message).toContain("geometry_msgs/msg/PoseStamped or lab_msgs/msg/Tip");
  expect(recording.recovered).toContain(
    "schema 1 is declared twice, as geometry_msgs/msg/PoseStamped or lab_msgs/msg/Tip",
  );
  const other: readonly (readonly Entry[])[] = [
    [{ ...pose, definition: "float64 reach" }, airframe, { poses: 4, on: 3, first: 0 }],
    [pose, { poses: 10, on: 3, first: 4 }],
  ];
  // the index has the second definition alone: what follows the first is left out
  const late = await read(file(other, true));
  expect(x(late, "vehicle_pose")).toEqual(from(4, 10));
  expect(late.recovered).toMatch(/gave 0 message\(s\) where the index says 4/);
  expect(late.recovered).toMatch(
    /schema 1 is declared otherwise \(geometry_msgs\/msg\/PoseStamped\) than by the index/,
  );
});

test("declarations that are repeated word for word are no contradiction", async () => {
  for (const indexed of [false, true]) {
    const recording = await read(
      file(
        [
          [pose, airframe, { poses: 10, on: 3, first: 0 }],
          [pose, airframe, { channel: 4, topic: "/mocap/tool" }, { poses: 4, on: 4, first: 10 }, pose, airframe],
        ],
        indexed,
      ),
    );
    expect(recording.recovered).toBeNull();
    expect(x(recording, "vehicle_pose")).toEqual(from(0, 10));
    expect(x(recording, "effector_pose")).toEqual(from(10, 4));
  }
});

test("a channel that is declared again without end: a thousand times are followed, the rest is counted", async () => {
  const entries = from(0, 20_000).flatMap((k): Entry[] => [
    { channel: 3, topic: `/t${k}` },
    { poses: 1, on: 3, first: k },
  ]);
  const path = file([[pose, ...entries]], false);
  const begun = performance.now();
  const survey = await surveyLog(path);
  // the first declaration and a thousand more have a message each
  expect(survey.topics).toHaveLength(1001);
  expect(survey.messages).toBe(1001);
  expect(survey.recovered).toContain("18999 message(s) are not read: their channel(s) are declared again too often");
  // with a look at all others for each it took a minute
  expect(performance.now() - begun).toBeLessThan(30_000);
});
