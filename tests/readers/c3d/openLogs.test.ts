import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { openC3d } from "../../../src/readers/c3d/openC3d.ts";
import { state } from "../../../src/readers/c3d/pointFields.ts";
import { surveyLog } from "../../../src/readers/readLog.ts";
import { describeWith, missing, openLogs } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";

interface Decoded {
  readonly processor: number;
  readonly labels: readonly string[];
  readonly unit: string;
  readonly rate: number;
  readonly frames: number;
  readonly missing: readonly number[];
  readonly zero: readonly number[];
  readonly ends: readonly (readonly number[] | null)[];
}

describeWith(["open-logs", "scipy"], "every public point file", () => {
  // the body runs where the suite is left out, too
  const folder = missing("open-logs") === null ? join(openLogs(), "c3d/Input/C3DSamples/others") : null;
  const paths = (folder === null ? [] : readdirSync(folder))
    .filter((name) => /\.c3d$/i.test(name))
    .map((name) => join(folder!, name));
  let decoded: readonly (Decoded | null)[] = [];
  beforeAll(() => {
    decoded = runPython(readFileSync(join(import.meta.dirname, "decode.py"), "utf8"), paths);
  });

  test("is among the open logs, of several makers, with integers and floating point", () => {
    expect(paths.length).toBeGreaterThan(12);
    expect(decoded.filter((each) => each !== null).length).toBeGreaterThan(12);
  });

  test.each(paths)("%s equals a decoding by hand, or is refused where that finds no points", async (path) => {
    const expected = decoded[paths.indexOf(path)]!;
    if (expected === null) {
      await expect(surveyLog(path)).rejects.toThrow(/found (a C3D file (without points|of \d+ bytes)|an empty file)/);
      return;
    }
    const { points, messages } = await surveyLog(path);
    expect(messages).toBe(expected.frames);
    expect(points!.rate).toBe(expected.rate);
    expect(points!.unit).toBe(expected.unit);
    expect(points!.markers.map((marker) => marker.missing)).toEqual(expected.missing);
    const recorded =
      expected.zero.reduce((a, b) => a + b, 0) <
      expected.missing.reduce((sum, gone) => sum + expected.frames - gone, 0);
    // where no point has a residual none was recorded
    expect(points!.markers.map((marker) => marker.modelled)).toEqual(
      recorded ? expected.zero : expected.zero.map(() => 0),
    );
    expected.labels.forEach((label, k) => {
      if (label !== "") expect(points!.markers[k]!.label).toBe(label);
    });
    const repeated = expected.labels.filter((label, k) => label !== "" && expected.labels.indexOf(label) < k);
    for (const label of repeated) expect(points!.notes.join()).toContain(`${label} (points `);
    for (const { markers } of points!.bodies) expect(repeated.filter((label) => label in markers)).toEqual([]);
    const file = openC3d(path);
    // whatever the fourth words mean, no capture has a marker in its very origin: such a place stands for none
    for (let k = 0; k < file.states.length; k++)
      if (file.states[k] !== state.missing && file.positions.subarray(3 * k, 3 * k + 3).every((value) => value === 0))
        expect.fail(`point ${k} lies in the origin`);
    expected.ends.forEach((ends, point) => {
      if (ends === null) return;
      for (const [frame, ...place] of [ends.slice(0, 4), ends.slice(4)]) {
        const at = frame! * file.labels.length + point;
        expect(file.states[at]).not.toBe(state.missing);
        expect([...file.positions.subarray(3 * at, 3 * at + 3)]).toEqual(place);
      }
    });
  });

  test("one capture as floating point and as integers agrees to half a step of the integers", () => {
    const [floating, integer] = ["float", "integer"].map((kind) =>
      openC3d(join(folder!, `ADemo1_rewrite_c3d_pc_${kind}.c3d`)),
    );
    let largest = 0;
    for (let k = 0; k < floating!.positions.length; k++) {
      const apart = Math.abs(floating!.positions[k]! - integer!.positions[k]!);
      if (apart > largest) largest = apart;
    }
    // POINT:SCALE of the integer file is 0.1 mm, by its parameter; whatever wrote it rounded or cut off
    expect(largest).toBeLessThan(0.1);
    expect(floating!.states).toEqual(integer!.states);
  });
});
