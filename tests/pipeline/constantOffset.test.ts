import { beforeAll, expect, test } from "vitest";
import type { Cell } from "../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { answerSentences } from "../../src/report/answerSentence.ts";
import type { SimulatedFlight } from "../../src/simulation/simulateFlight.ts";
import { toRecording } from "../support/toRecording.ts";
import { evaluateFlights, shortFlight, shortManifest } from "./shortCampaign.ts";

/**
 * Set-ups that are off by a constant, put upon the same simulated flights: four with the arm alone, four in calmer air with
 * a better balanced arm. The truth is what the flights say without the fault.
 */

const flights: Record<string, SimulatedFlight> = {};
let truth: CampaignEvaluation;
beforeAll(async () => {
  const calm = { air: { force: [0.3, 0.3, 0.3], torque: [0.03, 0.03, 0.012] }, balance: [0.6, 0.6, 0.6] } as const;
  for (let i = 1; i <= 4; i++) {
    flights[`bare-${i}.bag`] = shortFlight(300 + i);
    flights[`weighted-${i}.bag`] = shortFlight(400 + i, calm);
  }
  truth = await evaluateFlights(flights, manifest);
});

const manifest = shortManifest(
  [1, 2, 3, 4].flatMap((i) =>
    ["bare", "weighted"].map((configuration) => ({
      log: `${configuration}-${i}.bag`,
      id: `${configuration}-${i}`,
      configuration,
      trajectory: "orbit",
    })),
  ),
);

/** Flights whose bodies are captured elsewhere by a constant, metres. */
function shifted(
  signals: readonly SignalName[],
  by: readonly [number, number, number],
  which = /./,
): Record<string, Recording> {
  return Object.fromEntries(
    Object.entries(flights).map(([log, flight]) => {
      const recording = toRecording(flight, { file: log });
      if (!which.test(log)) return [log, recording];
      const moved = signals.map((name) => {
        const signal = recording.signals.get(name)!;
        const [x, y, z] = (["x", "y", "z"] as const).map((axis, a) =>
          signal.columns[axis]!.map((value) => value + by[a]!),
        );
        return [name, { ...signal, columns: { ...signal.columns, x: x!, y: y!, z: z! } }] as const;
      });
      return [log, { ...recording, signals: new Map([...recording.signals, ...moved]) }];
    }),
  );
}

const cellOf = (evaluation: CampaignEvaluation, subject: string, axis: string): Cell =>
  evaluation.cells.find((cell) => cell.in_family && cell.subject === subject && cell.axis === axis)!;

test("without a fault nothing is said of an offset, and the effector is steadier along y", () => {
  expect(truth.runs.flatMap(({ checks }) => checks.filter(({ code }) => code === "constant-offset"))).toEqual([]);
  expect(cellOf(truth, "effector", "y")).toMatchObject({ verdict: "steadier", doubts: [] });
});

test("a tool marker that slipped 9 mm in the candidate's runs alone makes no vehicle less steady", async () => {
  const evaluation = await evaluateFlights(shifted(["effector_pose"], [0, 0, 0.009], /weighted/), manifest);
  const cell = cellOf(evaluation, "effector", "z");
  expect(cell).toMatchObject({ verdict: "doubted", doubts: ["constant-offset"], constant: { role: "explains" } });
  const step = cell.constant!.step - cellOf(truth, "effector", "z").constant!.step;
  expect(step).toBeCloseTo(0.009, 6);
  const [first, found] = answerSentences(evaluation);
  expect(first).toBe("Doubted, so nothing is claimed: the effector along z in orbit.");
  expect(found).toMatch(/one of constant offset, not of steadiness.*look at `tool_point`, `arm_base`/);
  // what the slip did not touch stands as it was
  expect(cellOf(evaluation, "effector", "y").verdict).toBe("steadier");
});

test("a person may take the offset as it is: the claim then stands, fragile, with the reason in the audit", async () => {
  const logs = shifted(["effector_pose"], [0, 0, 0.009], /weighted/);
  const entry = (more: string): string =>
    `${manifest.trimEnd()}\naccept:\n  - { check: constant-offset, runs: all, because: "the heavier arm hangs lower"${more} }\n`;
  const open = await evaluateFlights(logs, entry(""));
  expect(cellOf(open, "effector", "z").verdict).toBe("doubted");
  const hint = open.audit.findings.find(({ code }) => code === "accept-open")!.hint;
  // what the audit says is to be written is what takes it
  const evidence = /`(evidence: \{.*\})`/.exec(hint)![1]!;
  const taken = await evaluateFlights(logs, entry(`, ${evidence}`));
  const cell = cellOf(taken, "effector", "z");
  expect(cell).toMatchObject({ verdict: "less steady", doubts: [] });
  expect(cell.fragile.join()).toContain("one of constant offset, not of steadiness");
  expect(taken.audit.findings.find(({ code }) => code === "accepted")!.message).toContain(
    "the heavier arm hangs lower",
  );
});

test("a capture that is 60 mm off drowns what the rms could show, and that is said first", async () => {
  const evaluation = await evaluateFlights(shifted(["vehicle_pose", "effector_pose"], [0, 0.06, 0]), manifest);
  const cell = cellOf(evaluation, "effector", "y");
  expect(cell.verdict).not.toBe("no difference that matters");
  expect(cell.constant!.role).toBe("drowns");
  expect(cell.constant!.share).toBeGreaterThan(0.9);
  // the spread about the offset is the spread without it: the shift changes neither
  expect(cell.constant!.sd!.difference).toBeCloseTo(cellOf(truth, "effector", "y").constant!.sd!.difference, 9);
  expect(answerSentences(evaluation).slice(0, 2).join(" ")).toMatch(
    /constant offset.*rms hardly knows of the spread.*`frames: onboard`/,
  );
  expect(evaluation.runs[0]!.checks.filter(({ code }) => code === "constant-offset")).not.toEqual([]);
});

test("judged by the spread, neither fault changes a figure", async () => {
  const bySpread = manifest.replace(/^smallest_difference/m, "primary: sd\nsmallest_difference");
  const [plain, off] = [
    await evaluateFlights(flights, bySpread),
    await evaluateFlights(shifted(["vehicle_pose", "effector_pose"], [0, 0.06, 0]), bySpread),
  ];
  for (const cell of plain.cells.filter(({ in_family }) => in_family)) {
    const same = cellOf(off, cell.subject, cell.axis);
    expect(same.verdict).toBe(cell.verdict);
    expect(same.difference).toBeCloseTo(cell.difference!, 9);
  }
});
