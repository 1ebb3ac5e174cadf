import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { LogError } from "../../../src/foundation/errors.ts";
import type { Vector3 } from "../../../src/foundation/units.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { readLog, surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { temporaryFolder } from "../rosbag/temporaryFolder.ts";
import { type BuiltC3d, buildC3d } from "./buildC3d.ts";
import { capture, labels, markers, truth } from "./capture.ts";

const folder = temporaryFolder();
let files = 0;

function file(bytes: Uint8Array): string {
  const path = join(folder, `points-${files++}.c3d`);
  writeFileSync(path, bytes);
  return path;
}

const built = (changes: Partial<BuiltC3d> = {}): Buffer =>
  buildC3d({ order: "Intel", integers: 0, labels, rate: 100, unit: "mm", frames: capture(50), ...changes });
const request = { signal: "vehicle_pose", topic: "", markers } as const;
const pose = async (bytes: Uint8Array, changes = {}) => {
  const recording = await readLog([file(bytes)], [{ ...request, ...changes }]);
  return { recording, signal: recording.signals.get("vehicle_pose") };
};

describe("the same capture as", () => {
  test.each(["Intel", "DEC", "MIPS"] as const)("%s floating point gives the true poses", async (order) => {
    const { signal, recording } = await pose(built({ order }));
    expect(recording.recovered).toBeNull();
    expect([...signal!.stamped!.seconds]).toEqual(Array.from({ length: 50 }, (_, k) => k / 100));
    for (let k = 0; k < 50; k++) {
      const { p, q } = truth(k);
      // single precision of numbers up to 1000 mm: 0.06 um, times the leverage of 0.1 m
      expect(Math.hypot(...p.map((value, axis) => value - signal!.columns["xyz"[axis]!]![k]!))).toBeLessThan(5e-7);
      expect(Math.hypot(...q.map((value, axis) => value - signal!.columns[`q${"xyzw"[axis]}`]![k]!))).toBeLessThan(
        3e-6,
      );
    }
  });

  test.each(["Intel", "DEC", "MIPS"] as const)("%s integers gives them to the step of the integers", async (order) => {
    const { signal } = await pose(built({ order, integers: 0.05 }));
    for (let k = 0; k < 50; k++) {
      const { p } = truth(k);
      // half a step of 0.05 mm on each axis of four markers
      expect(Math.hypot(...p.map((value, axis) => value - signal!.columns["xyz"[axis]!]![k]!))).toBeLessThan(5e-5);
    }
  });

  test("metres instead of millimetres gives the same", async () => {
    const metres = capture(5).map((points) =>
      points.map(([x, y, z, r]): [number, number, number, number] => [x / 1000, y / 1000, z / 1000, r]),
    );
    const { signal } = await pose(built({ unit: "m", frames: metres }));
    expect(signal!.columns.z![0]).toBeCloseTo(1, 6);
    const { recording } = await pose(built({ unit: "" }));
    expect(recording.missing[0]!.message).toContain("found no unit of lengths in the file");
  });
});

describe("a unit of the points that is", () => {
  const refusal = async (unit: string) => {
    const { recording, signal } = await pose(built({ unit }));
    expect(signal).toBeUndefined();
    return recording.missing[0]!;
  };

  // what the units measure: SI brochure (BIPM), 9th edition, tables 2, 4 and 8
  test.each(["deg", "V", "N", "m/s", "m^2", "%", "wxyz"])("no length, such as %s, is refused", async (unit) => {
    const { message, reason, hint } = await refusal(unit);
    expect(reason).toBe("wrong-type");
    expect(message).toContain(`found the unit "${unit}" in POINT:UNITS, which is no length, expected mm, cm or m`);
    expect(hint).toContain("export the capture again in millimetres");
  });

  // the prefixes k and M: 1e3 and 1e6 (the same, table 7); a statute mile is 1609.344 m (NIST SP 811, B.8)
  test.each([
    ["km", 1000],
    ["mi", 1609.344],
    ["Mm", 1_000_000],
  ])("as large as %s is refused", async (unit, metres) => {
    const { message, hint } = await refusal(unit);
    expect(message).toContain(`found the unit "${unit}" in POINT:UNITS, which is ${metres} m, expected mm`);
    expect(hint.includes("did the writer mean mm?")).toBe(unit === "Mm");
  });

  // 1 inch = 25.4 mm, 1 foot = 304.8 mm exactly (international yard and pound, 1959)
  test.each([
    ["in", 25.4],
    ["ft", 304.8],
    ["MM", 1],
    ["cm", 10],
  ])("a length, such as %s, is read as %s mm", async (unit, millimetres) => {
    const frames = capture(5).map((points) =>
      points.map(([x, y, z, r]): [number, number, number, number] => [
        x / millimetres,
        y / millimetres,
        z / millimetres,
        r,
      ]),
    );
    const { signal } = await pose(built({ unit, frames }));
    expect(signal!.columns.z![4]).toBeCloseTo(truth(4).p[2], 6);
  });

  test("no length gives no body to a survey, which says why", async () => {
    const { points } = await surveyLog(file(built({ unit: "deg", frames: capture(60) })));
    expect(points!.bodies).toEqual([]);
    expect(points!.notes).toEqual([expect.stringContaining('found the unit "deg" in POINT:UNITS, which is no length')]);
    expect((await surveyLog(file(built({ frames: capture(60) })))).points!.notes).toEqual([]);
  });
});

describe("what was not measured takes no part", () => {
  test("a missing marker leaves the pose to the three others, a modelled one as well, and both are counted", async () => {
    const frames = capture(20);
    frames[3]![0] = [0, 0, 0, -1];
    // filled in: wrong by a centimetre, residual 0
    const [x, y, z] = frames[4]![1]!;
    frames[4]![1] = [x + 10, y, z, 0];
    const { signal } = await pose(built({ frames }));
    expect(signal!.received.seconds).toHaveLength(20);
    for (const k of [3, 4]) expect(signal!.columns.x![k]).toBeCloseTo(truth(k).p[0], 5);
    expect(signal!.fit).toMatchObject({ frames: 20, solved: 20, missing: 1, modelled: 1, markers: labels });
  });

  test("fewer than three measured markers, or three on one line, are a gap and no pose", async () => {
    const line: Readonly<Record<string, Vector3>> = { ...markers, F4: [0.02, 0.05, 0.01] };
    const frames = capture(6);
    frames[2]![0] = [0, 0, 0, -1];
    frames[2]![1] = [0, 0, 0, -1];
    // F1, F2 and the middle between them
    frames[4]![2] = [0, 0, 0, -1];
    const { signal } = await pose(built({ frames }), { markers: line });
    expect([...signal!.stamped!.seconds]).toEqual([0, 1, 3, 5].map((k) => k / 100));
  });

  // c3d.org, notes for programmers: the fourth word is a signed 16-bit integer in both forms, cameras 1 to 7 in the bits of
  // the high byte, the residual over POINT:SCALE in the low one; negative: no point; a filled-in point has no camera either
  test.each([
    { word: 0, as: "modelled", why: "no residual and no camera" },
    { word: 1, as: "measured", why: "a residual, the cameras not told" },
    { word: 0x0300, as: "measured", why: "cameras 1 and 2, a residual that rounds to 0" },
    { word: 0x7f00, as: "measured", why: "all seven cameras, a residual that rounds to 0" },
    { word: 0x0305, as: "measured", why: "cameras and a residual" },
    { word: -1, as: "missing", why: "the word for no point" },
    { word: -32_768, as: "missing", why: "any negative word" },
    { word: 0xffff, as: "missing", why: "-1 without its sign" },
    { word: 0x8105, as: "missing", why: "a set sign bit" },
  ] as const)("the word $word is a $as point: $why", async ({ word, as }) => {
    for (const order of ["Intel", "DEC", "MIPS"] as const)
      for (const integers of [0, 0.1]) {
        // all others have a residual, so that the file tells residuals
        const changes = { order, integers, word: (residual: number) => (residual === 9 ? word : 5) };
        const frames = capture(4);
        for (const points of frames) points[2]![3] = 9;
        const { points } = await surveyLog(file(built({ ...changes, frames })));
        expect(points!.markers[2]).toEqual({ label: "F3", measured: 0, modelled: 0, missing: 0, [as]: 4 });
        expect(points!.notes).toEqual([]);
      }
  });

  test("a floating fourth word between 0 and 1 was written by what knows residuals: measured", async () => {
    const frames = capture(4);
    const { points } = await surveyLog(file(built({ frames, word: () => 0.3 })));
    expect(points!.markers[0]).toMatchObject({ measured: 4, modelled: 0 });
    expect(points!.notes).toEqual([]);
  });

  test("a file without any residual cannot tell: its points count as measured, which is no damage and reported once", async () => {
    const frames = capture(5, 0, 0);
    frames[2]![0] = [0, 0, 0, -1];
    // not seen, as writers without residuals have it: a public sample has whole markers at 0 0 0 with the word 0
    frames[3]![1] = [0, 0, 0, 0];
    const bytes = built({ frames });
    const { recording, signal } = await pose(bytes);
    expect(signal!.received.seconds).toHaveLength(5);
    expect(signal!.columns.x![3]).toBeCloseTo(truth(3).p[0], 5);
    expect(signal!.fit).toMatchObject({ missing: 2, modelled: 0 });
    expect(recording.recovered).toBeNull();
    expect(recording.checks).toEqual([
      expect.objectContaining({
        code: "gap",
        severity: "note",
        message: expect.stringContaining("all 18 readings count as measured"),
      }),
    ]);
    const { points, recovered } = await surveyLog(file(bytes));
    expect([recovered, points!.notes]).toEqual([null, [expect.stringContaining("no point has a residual")]]);
  });

  test("cameras without any residual are measurements, and nothing is to be reported", async () => {
    const { recording, signal } = await pose(built({ word: () => 0x0700 }));
    expect(signal!.fit).toMatchObject({ missing: 0, modelled: 0, solved: 50 });
    expect(recording.checks).toBeUndefined();
  });
});

test("the residual of the fit is the noise of a marker's coordinate", async () => {
  const noise = 0.3e-3;
  const { signal } = await pose(built({ frames: capture(800, noise) }));
  // 800 frames x (12 - 6) degrees of freedom: relative standard error 1 / sqrt(2 x 4800) = 1 %; four of them
  expect(Math.abs(signal!.fit!.residual / noise - 1)).toBeLessThan(0.042);
});

describeWith(["scipy"], "the misfit of each frame", () => {
  test("is scipy's, over what the fit leaves free", async () => {
    const frames = capture(40, 2e-3).map((points, k) => (k % 3 === 0 ? points.slice(0, 3) : points));
    const missing: [number, number, number, number] = [0, 0, 0, -1];
    const { signal } = await pose(built({ frames: frames.map((points) => [...points, missing].slice(0, 4)) }));
    const expected = runPython<number[]>(
      `
import json, sys
import numpy
from scipy.spatial.transform import Rotation
case = json.load(sys.stdin)
answers = []
for frame in case["frames"]:
    # single precision, as the file holds it
    seen = numpy.array(frame, dtype="f4").astype(float)[:, :3] / 1000
    body = numpy.array(case["body"])[: len(seen)]
    rotation, rssd = Rotation.align_vectors(seen - seen.mean(0), body - body.mean(0))
    answers.append(float(rssd) / numpy.sqrt(3 * len(seen) - 6))
print(json.dumps(answers))
`,
      { frames, body: Object.values(markers) },
    );
    // differences of squares of 1 m^2 in double precision leave 1e-16 m^2 of 1e-6 m^2
    expected.forEach((misfit, k) => {
      expect(signal!.fits!.misfit[k]).toBeCloseTo(misfit, 9);
    });
    expect(signal!.fits!.misfit).toHaveLength(40);
  });
});

describe("requests", () => {
  test("one marker is a point without attitude; two, and three on a line, are refused", async () => {
    const { signal } = await pose(built(), { markers: { F4: [0, 0, 0] } });
    expect(Object.keys(signal!.columns)).toEqual(["x", "y", "z"]);
    const two = await pose(built(), { markers: { F1: [0, 0, 0], F2: [1, 0, 0] } });
    expect(two.recording.missing[0]!.message).toContain("found two markers");
    const line = await pose(built(), { markers: { F1: [0, 0, 0], F2: [1, 0, 0], F3: [2, 0, 0] } });
    expect(line.recording.missing[0]!.message).toContain("found markers on one line");
  });

  test("names that are not there, topics and columns are reported with what there is", async () => {
    const { recording } = await pose(built(), { markers: { F1: [0, 0, 0], F2: [1, 0, 0], F9: [0, 1, 0] } });
    expect(recording.missing[0]).toMatchObject({
      reason: "absent",
      message: expect.stringContaining("found no marker F9; there are F1, F2, F3, F4"),
    });
    const topic = await readLog([file(built())], [{ signal: "vehicle_pose", topic: "/mocap" }]);
    expect(topic.missing[0]!.message).toContain("found a C3D file, expected a log with topic /mocap");
    await expect(readLog([file(built()), file(built())], [request])).rejects.toThrow(/2 C3D files/);
  });

  test("a span counts from the first frame", async () => {
    const path = file(built());
    const { signals } = await readLog([path], [request], { span: [0.1, 0.13] });
    expect([...signals.get("vehicle_pose")!.stamped!.seconds]).toEqual([0.1, 0.11, 0.12]);
  });
});

test("a survey tells how often each marker was measured, and which keep their distances", async () => {
  const frames = capture(60, 0.2e-3).map((points, k) => [
    ...points,
    [3000 + 20 * k, 0, 500, k < 20 ? -1 : 0.1] as [number, number, number, number],
  ]);
  const { points } = await surveyLog(file(built({ labels: [...labels, "loose"], frames })));
  expect(points!.markers[4]).toEqual({ label: "loose", measured: 40, modelled: 0, missing: 20 });
  expect(points!.bodies).toHaveLength(1);
  const found = points!.bodies[0]!.markers;
  expect(Object.keys(found).sort()).toEqual(labels);
  const apart = (places: Readonly<Record<string, Vector3>>, a: string, b: string): number =>
    Math.hypot(...places[a]!.map((value, axis) => value - places[b]![axis]!));
  for (const a of labels)
    for (const b of labels) expect(Math.abs(apart(found, a, b) - apart(markers, a, b))).toBeLessThan(3e-4);
});

describe("a label that two points bear", () => {
  // hand-made: the fifth point is called F2 as the second, and lies 3 m away
  const doubled = (): Buffer =>
    built({
      labels: [...labels, "F2"],
      frames: capture(60).map((points) => [...points, [3000, 0, 500, 0.1] as [number, number, number, number]]),
    });

  test("is refused for a body that needs it, with both places, and does no harm to one that does not", async () => {
    const { recording, signal } = await pose(doubled());
    expect(signal).toBeUndefined();
    expect(recording.missing[0]).toMatchObject({
      reason: "wrong-type",
      message: "vehicle_pose: found the label F2 at 2 points of the file (numbers 2, 5), expected it at one",
      hint: expect.stringContaining("a label of its own"),
    });
    const { F2: _, ...others } = markers;
    expect((await pose(doubled(), { markers: others })).signal!.columns.x![7]).toBeCloseTo(truth(7).p[0], 5);
  });

  test("is in no proposal, which the survey says", async () => {
    const { points } = await surveyLog(file(doubled()));
    expect(points!.bodies.map((body) => Object.keys(body.markers).sort())).toEqual([["F1", "F3", "F4"]]);
    expect(points!.notes).toEqual([expect.stringContaining("F2 (points 2, 5)")]);
  });
});

test("files cut anywhere or with damaged bytes are read or refused in bounded time, never with a fault of the tool", async () => {
  const whole = built({ frames: capture(30) });
  const random = seededRandom(642);
  const started = performance.now();
  const damaged: Buffer[] = [];
  for (let end = 0; end < whole.length; end += 61) damaged.push(whole.subarray(0, end));
  for (let k = 0; k < 300; k++) {
    const copy = Buffer.from(whole);
    const reach = k % 3 === 0 ? copy.length : 1024;
    for (let n = 0; n <= k % 5; n++) copy[Math.floor(reach * random.uniform())] = Math.floor(256 * random.uniform());
    damaged.push(copy);
  }
  for (const bytes of damaged) {
    const path = file(bytes);
    try {
      const { signals } = await readLog([path], [request]);
      await surveyLog(path);
      expect(signals.get("vehicle_pose")?.received.seconds.length ?? 0).toBeLessThanOrEqual(200);
    } catch (error) {
      expect(error).toBeInstanceOf(LogError);
    }
  }
  expect(performance.now() - started).toBeLessThan(30_000);
}, 60_000);

// c3d.org, POINT:RATE (words 11 and 12) and POINT:SCALE (words 7 and 8): the header holds an identical copy
describe("a header that contradicts the parameters in", () => {
  const changed = (integers: number, byte: number, value: number): Buffer => {
    const bytes = built({ integers });
    bytes.writeFloatLE(value, byte);
    return bytes;
  };

  test.each([
    [
      "its rate",
      0,
      20,
      120,
      "POINT:RATE is 100, its copy in the header 120: the first is believed, and all times with it",
    ],
    ["the scale of integers", 0.05, 12, 0.1, "POINT:SCALE is 0.05, its copy in the header 0.1"],
    ["the form of its numbers", 0, 12, 0.01, "POINT:SCALE is -1, its copy in the header 1"],
  ] as const)("%s is doubted, and the parameter believed", async (_, integers, byte, value, message) => {
    const { recording, signal } = await pose(changed(integers, byte, value));
    expect(signal!.stamped!.seconds[7]).toBe(0.07);
    expect(signal!.columns.z![7]).toBeCloseTo(truth(7).p[2], 4);
    expect(recording.checks).toEqual([
      expect.objectContaining({ code: "recovered", severity: "doubt", message: expect.stringContaining(message) }),
    ]);
  });

  test("nothing but how residuals of floating point numbers are scaled, or holds no number, is sound", async () => {
    for (const [byte, value] of [
      [12, -1],
      [12, 0],
      [20, 0],
    ] as const)
      expect((await pose(changed(0, byte, value))).recording.checks).toBeUndefined();
  });

  test("a scale of 0, which makes every place the origin, is refused", async () => {
    const bytes = built({ integers: 0.05 });
    // the parameter's 0.05 stands behind its name, offset, type and dimensions: 5 + 2 + 1 + 1 bytes
    bytes.writeFloatLE(0, bytes.indexOf("SCALE") + 9);
    await expect(pose(bytes)).rejects.toThrow(/with a scale of 0, expected a whole one/);
  });
});

// c3d.org, Reading the frame count: POINT:FRAMES counts unless it is 65535; LONG_FRAMES overrides it; the header's range does
// not count. The size of the hand-made file is that of the true count.
describe("a capture of 50 frames", () => {
  const framesOf = async (changes: Partial<BuiltC3d>) => {
    const { signal, recording } = await pose(built(changes));
    return { count: signal!.stamped!.seconds.length, recording, checks: recording.checks ?? [] };
  };
  const short = { type: 2, value: 20 } as const;

  test("whose header claims 20 is read whole by POINT:FRAMES, and the two are reported", async () => {
    const { count, recording, checks } = await framesOf({ headerEnd: 20 });
    expect(count).toBe(50);
    expect(recording.recovered).toBeNull();
    expect(checks).toEqual([
      expect.objectContaining({
        code: "recovered",
        severity: "note",
        message:
          "POINT:FRAMES counts 50 frames, the header counts 20; the first is believed, which the size of the file bears out",
        evidence: { believed: 50, others: [20], room: 50 },
      }),
    ]);
  });

  test("whose POINT:FRAMES claims 20 is read whole by what its size bears out", async () => {
    for (const changes of [{}, { trialEnd: 50, headerEnd: 20 }, { longFrames: 50, headerEnd: 20 }]) {
      const { count, checks } = await framesOf({ parameterFrames: short, ...changes });
      expect(count).toBe(50);
      expect(checks).toHaveLength(1);
    }
  });

  test("that claims 20 throughout is believed, and the room for more is reported as a loss", async () => {
    const { count, recording, checks } = await framesOf({ parameterFrames: short, headerEnd: 20 });
    expect(count).toBe(20);
    expect(recording.recovered).toContain("it claims 20 frames, but has room for 50");
    expect(checks).toEqual([]);
  });

  test("that nothing but the header counts is read by the header", async () => {
    const { count, checks } = await framesOf({ parameterFrames: null });
    expect([count, checks]).toEqual([50, []]);
  });

  test("of which 30 are left ends there, whichever count is believed", async () => {
    const whole = built();
    // four points of four floating point numbers a frame
    const { signal, recording } = await pose(whole.subarray(0, whole.length - 20 * 4 * 16));
    expect(signal!.stamped!.seconds).toHaveLength(30);
    expect(recording.recovered).toBe("it ends after 30 of 50 frames");
  });
});

describe("a capture of 70000 frames, more than 16 bits count, is read whole", () => {
  const long = (changes: Partial<BuiltC3d>): Buffer => {
    const frames = Array.from({ length: 70_000 }, (_, k): [number, number, number, number][] => [[k / 10, 1, 2, 5]]);
    return built({ integers: 1, labels: ["F1"], headerEnd: 65_535, frames, ...changes });
  };
  const lastOf = async (changes: Partial<BuiltC3d>) => {
    const { signal, recording } = await pose(long(changes), { markers: { F1: [0, 0, 0] } });
    return { frame: 1e4 * signal!.columns.x!.at(-1)!, recording, count: signal!.columns.x!.length };
  };
  const capped = { type: 2, value: 65_535 } as const;

  // c3d.org: POINT:FRAMES as a floating point number; POINT:LONG_FRAMES; TRIAL's fields as two words, the low one first
  test.each([
    ["a floating point POINT:FRAMES", { parameterFrames: { type: 4, value: 70_000 } }],
    // 70000 - 65536 = 4464
    [
      "the same beside a header that lost its upper bits",
      { parameterFrames: { type: 4, value: 70_000 }, headerEnd: 4464 },
    ],
    ["LONG_FRAMES beside 65535", { parameterFrames: capped, longFrames: 70_000 }],
    ["TRIAL beside 65535", { parameterFrames: capped, trialEnd: 70_000 }],
    ["all three", { parameterFrames: { type: 4, value: 70_000 }, longFrames: 70_000, trialEnd: 70_000 }],
  ] as const)("by %s, with nothing to tell", async (_, changes) => {
    const { count, frame, recording } = await lastOf(changes);
    expect(count).toBe(70_000);
    expect(frame).toBeCloseTo(70_000, -1);
    expect([recording.recovered, recording.checks]).toEqual([null, undefined]);
  });

  test("by TRIAL where POINT:FRAMES lost its upper bits, which is reported", async () => {
    // 70000 - 65536 = 4464
    const { count, recording } = await lastOf({ parameterFrames: { type: 2, value: 4464 }, trialEnd: 70_000 });
    expect(count).toBe(70_000);
    expect(recording.checks![0]!.message).toContain("TRIAL counts 70000 frames, POINT:FRAMES counts 4464");
  });

  test("and one of 40000, which are negative as a signed integer, as well", async () => {
    const frames = Array.from({ length: 40_000 }, (): [number, number, number, number][] => [[1, 1, 2, 5]]);
    const { count, recording } = await lastOf({ frames, headerEnd: 40_000 });
    expect([count, recording.recovered, recording.checks]).toEqual([40_000, null, undefined]);
  });
});
