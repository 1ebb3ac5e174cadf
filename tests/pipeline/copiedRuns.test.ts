import { expect, test } from "vitest";
import { doubtedOriginals, type Fingerprint, findCopies } from "../../src/pipeline/copiedRuns.ts";

const poses = (run: string, from: number): Fingerprint => ({
  run,
  hashes: new Set(Array.from({ length: 40 }, (_, i) => from + i)),
});
const filed = (id: string, configuration: string, trajectory = "orbit") => ({ id, configuration, trajectory });

test("a flight filed twice under one label counts once, and its first entry is beyond doubt", () => {
  const copies = findCopies([poses("run-1", 0), poses("run-2", 1000), poses("run-3", 0)], 0.5);
  expect([...copies.keys()]).toEqual(["run-3"]);
  expect(copies.get("run-3")).toMatchObject({ severity: "unusable", evidence: { same_as: "run-1" } });
  expect(doubtedOriginals(copies, [filed("run-1", "bare"), filed("run-2", "bare"), filed("run-3", "bare")]).size).toBe(
    0,
  );
});

test.each([
  ["configuration", filed("run-2", "weighted")],
  ["trajectory", filed("run-2", "bare", "reach")],
])(
  "a flight filed again under another %s: the first entry is doubted, for either label may be the wrong one",
  (_, copy) => {
    const copies = findCopies([poses("run-1", 0), poses("run-2", 0)], 0.5);
    const doubts = doubtedOriginals(copies, [filed("run-1", "bare"), copy]);
    expect([...doubts.keys()]).toEqual(["run-1"]);
    const doubt = doubts.get("run-1")!;
    expect(doubt).toMatchObject({ code: "copied", severity: "doubt", evidence: { same_as: "run-2" } });
    expect(doubt.message).toContain(`filed as ${copy.configuration}, ${copy.trajectory}`);
  },
);
