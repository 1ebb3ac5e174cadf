import { describe, expect, test } from "vitest";
import type { RigRun } from "../../client/figures/rigParts.ts";
import { contradictions } from "../../client/views/setup/contradictions.ts";

const path = (x: number, y: number, z: number): RigRun["tool"] => ({
  x: [x - 0.06, x + 0.06],
  y: [y, y],
  z: [z, z],
});

/** A run that flew where it was asked to. */
const run = (k: number, changes: Partial<RigRun> = {}): RigRun => ({
  run: `run-${k}`,
  trajectory: "orbit",
  tone: "other",
  doubted: { vehicle: false, tool: false },
  flown: null,
  hover: [0.4, -0.2, 1.5],
  heading: 0,
  setpoint: [0.4, -0.2, 1.5],
  heading_commanded: 0,
  arm_base: null,
  tool: path(0.6, -0.2, 1.22),
  command: path(0.6, -0.2, 1.22),
  apart: null,
  ...changes,
});
const all = (changes: Partial<RigRun>): RigRun[] => [1, 2, 3, 4].map((k) => run(k, changes));

describe("what contradicts in the drawing of the rig", () => {
  test("is nothing where all was flown as asked, within what a hover wanders", () => {
    expect(contradictions([1, 2, 3].map((k) => run(k, { hover: [0.4 + 0.01 * k, -0.19, 1.52] })))).toEqual([]);
    expect(contradictions([])).toEqual([]);
  });

  test("a tool point that was left out: the tool above its command by its length, once for all runs", () => {
    const found = contradictions(all({ tool: path(0.6, -0.2, 1.265) }));
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ of: "tool", runs: ["run-1", "run-2", "run-3", "run-4"] });
    expect(found[0]!.size).toBeCloseTo(0.045, 12);
    expect(found[0]!.words).toMatch(
      /^In orbit the tool works 45 mm from where its command lies, mostly above it \(4 runs\)/,
    );
  });

  test("a turned capture: the noses, by the angle, the shorter way round", () => {
    const found = contradictions(all({ heading: -Math.PI + 0.1, heading_commanded: Math.PI - 0.2 }));
    expect(found.map(({ of }) => of)).toEqual(["nose"]);
    expect(found[0]!.words).toContain("Noses point 17° away");
    expect(contradictions(all({ heading: null, heading_commanded: 1 }))).toEqual([]);
  });

  test("another world: vehicle and tool far away, metres where they are metres", () => {
    const found = contradictions(all({ hover: [0.4, -1.5, -0.2], tool: path(0.6, -1.22, -0.2) }));
    expect(found.map(({ of }) => of)).toEqual(["vehicle", "tool"]);
    expect(found[0]!.words).toContain("hovers 2.14 m from its setpoint");
  });

  test("one run that is off by itself stands by itself, and does not move the middle of the others", () => {
    const runs = [...all({}), run(5, { tool: path(0.6, -0.17, 1.22) })];
    expect(contradictions(runs).map((one) => one.runs)).toEqual([["run-5"]]);
  });

  test("runs of one trajectory are one group whatever they carry: the figure is the same however configurations are dealt", () => {
    const offs = [0.02, 0.06, 0.03, 0.05, 0.04];
    const dealt = (tones: readonly RigRun["tone"][]) =>
      contradictions(offs.map((off, k) => run(k, { tone: tones[k]!, tool: path(0.6, -0.2, 1.22 + off) })));
    expect(dealt(["baseline", "candidate", "baseline", "candidate", "other"])).toEqual(
      dealt(["candidate", "baseline", "candidate", "baseline", "other"]),
    );
  });
});
