import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { buildMcap, cdrPoses, type McapOptions, recordsOf } from "./buildMcap.ts";

// Every file is written by the format's own library; what lies where in the joined one is arithmetic on lengths.

const folder = temporaryFolder();
let files = 0;

function file(...parts: Uint8Array[]): string {
  const path = join(folder, `joined-${files++}.mcap`);
  writeFileSync(path, Buffer.concat(parts));
  return path;
}

/** The x of the poses of both topics, and what is reported. */
async function read(path: string): Promise<{ vehicle: number[]; tool: number[]; recovered: string | null }> {
  const { signals, recovered } = await readLog(
    [path],
    [
      { signal: "vehicle_pose", topic: "/mocap/airframe" },
      { signal: "effector_pose", topic: "/mocap/tool" },
    ],
  );
  const x = (signal: "vehicle_pose" | "effector_pose"): number[] => [...(signals.get(signal)?.columns.x ?? [])];
  return { vehicle: x("vehicle_pose"), tool: x("effector_pose"), recovered };
}

const from = (first: number, count: number): number[] => Array.from({ length: count }, (_, i) => first + i);

const forms: [string, McapOptions][] = [
  ["packed", { compression: "zstd" }],
  ["not packed", {}],
  ["without chunks", { writer: { useChunks: false } }],
];

for (const [name, options] of forms) {
  test(`two files joined into one are both read, each with channels of its own (${name})`, async () => {
    const tool = { topic: "/mocap/tool" };
    // the channel that is the airframe's in the first file is the tool's in the second
    const a = await buildMcap([...cdrPoses(20), ...cdrPoses(10, { ...tool, first: 500 })], options);
    const b = await buildMcap([...cdrPoses(7, { ...tool, first: 900 }), ...cdrPoses(5, { first: 300 })], options);
    const path = file(a, b);
    const { vehicle, tool: effector, recovered } = await read(path);
    expect(vehicle).toEqual([...from(0, 20), ...from(300, 5)]);
    expect(effector).toEqual([...from(500, 10), ...from(900, 7)]);
    expect(recovered).toBe(`it is several MCAP files in one: others begin at byte ${a.length}, and are read as well`);
    const survey = await surveyLog(path);
    expect(survey.recovered).toBe(recovered);
    expect(survey.bytes).toBe(a.length + b.length);
    expect(survey.topics.map(({ topic, messages }) => [topic, messages])).toEqual([
      ["/mocap/airframe", 25],
      ["/mocap/tool", 17],
    ]);
  });

  test(`a file that is joined twice, and one whose index has no checksum (${name})`, async () => {
    const a = await buildMcap(cdrPoses(20), options);
    a.fill(0, a.length - 12, a.length - 8);
    const { vehicle, recovered } = await read(file(a, a, a));
    expect(vehicle).toEqual(from(0, 20).flatMap((x) => [x, x, x]));
    expect(recovered).toBe(
      `it is several MCAP files in one: others begin at byte ${a.length}, ${2 * a.length}, and are read as well`,
    );
  });

  test(`what lies behind the closing magic and is no MCAP file is reported, with its place and length (${name})`, async () => {
    const a = await buildMcap(cdrPoses(20), options);
    for (const rest of [Buffer.from("notes of the day\n"), Buffer.alloc(3), a.subarray(8), a.subarray(0, 7)]) {
      const path = file(a, rest);
      const told = `${rest.length} byte(s) lie behind its closing magic, from byte ${a.length} on, and are not read`;
      const { vehicle, recovered } = await read(path);
      expect(vehicle).toEqual(from(0, 20));
      expect(recovered).toBe(told);
      expect((await surveyLog(path)).recovered).toBe(told);
    }
  });

  test(`a file that was not closed, with another behind its last whole record (${name})`, async () => {
    const a = await buildMcap(cdrPoses(20), options);
    const b = await buildMcap(cdrPoses(5, { first: 300 }), options);
    const dataEnd = recordsOf(a).find(({ op }) => op === 0x0f)!;
    const { vehicle, recovered } = await read(file(a.subarray(0, dataEnd.position), b));
    expect(vehicle).toEqual([...from(0, 20), ...from(300, 5)]);
    expect(recovered).toContain(`others begin at byte ${dataEnd.position}, and are read as well`);
  });

  test(`a file cut off within its closing magic is reported as one that was not closed (${name})`, async () => {
    const a = await buildMcap(cdrPoses(20), options);
    for (const cut of [1, 5, 8]) {
      const { vehicle, recovered } = await read(file(a.subarray(0, a.length - cut)));
      expect(vehicle).toEqual(from(0, 20));
      expect(recovered).toMatch(/^it was not closed by its recorder and has no index: scanned/);
      expect(recovered).not.toContain("behind its closing magic");
    }
  });
}

test("the end of a joined file that is damaged is reported with the file's place", async () => {
  const a = await buildMcap(cdrPoses(20));
  const b = await buildMcap(cdrPoses(20, { first: 300 }));
  const { vehicle, recovered } = await read(file(a, b.subarray(0, b.length - 60)));
  expect(vehicle).toEqual([...from(0, 20), ...from(300, 20)]);
  expect(recovered).toMatch(new RegExp(`\\.mcap from byte ${a.length}: it was not closed: scanned`));
});
