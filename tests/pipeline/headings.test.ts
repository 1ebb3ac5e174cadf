import { beforeAll, describe, expect, test } from "vitest";
import type { Cell } from "../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import { evaluationJson } from "../../src/pipeline/writeEvaluation.ts";
import { answerSentence } from "../../src/report/answerSentence.ts";
import { textStyle } from "../../src/report/text/layout.ts";
import { verdictBoard } from "../../src/report/verdictBoard.ts";
import { toRecording } from "../support/toRecording.ts";
import { turnedWorld, withoutSetpointAttitude } from "../support/turnedWorld.ts";
import { checksOf, evaluateFlights, idOf, shortFlight, shortManifest } from "./shortCampaign.ts";

/**
 * The same flights at other headings: counterweights act in body axes, so what is claimed of them must not depend on the way
 * the vehicle faced. Every turned campaign is a valid recording of the flights that the unturned one is made of; that both
 * give the same figures is exact but for rounding.
 */

const degree = Math.PI / 180;
const flights: Record<string, Recording> = {};
beforeAll(() => {
  // the candidate is balanced and in calmer air along x alone, so that axes that are taken for each other show
  const calm = { air: { force: [0.05, 0.3, 0.3] }, balance: [0.9, 0.3, 0.5] } as const;
  for (let i = 1; i <= 3; i++) {
    flights[`bare-${i}.bag`] = toRecording(shortFlight(710 + i));
    flights[`weighted-${i}.bag`] = toRecording(shortFlight(720 + i, calm));
  }
});

const turnEach = (yawOf: (log: string, k: number) => number): Record<string, Recording> =>
  Object.fromEntries(Object.entries(flights).map(([log, one], k) => [log, turnedWorld(one, yawOf(log, k))]));
const byCandidate = (log: string): number => (log.startsWith("weighted") ? 90 * degree : 0);

async function judge(logs: Record<string, Recording>, judgeIn: "world" | "heading" | null = null) {
  const runs = Object.keys(logs).map((log) => ({
    log,
    id: idOf(log),
    configuration: log.startsWith("bare") ? "bare" : "weighted",
    trajectory: "orbit",
  }));
  const manifest = shortManifest(runs);
  const evaluation = await evaluateFlights(logs, judgeIn === null ? manifest : `judge_in: ${judgeIn}\n${manifest}`);
  expect(() => evaluationJson(evaluation)).not.toThrow();
  return evaluation;
}

const names = (cell: Cell): string => `${cell.subject} ${cell.axis} ${cell.metric}`;

/** Cells of the same place say the same, to 1e-9 m. */
function expectSame(
  found: CampaignEvaluation,
  expected: CampaignEvaluation,
  subjects = ["vehicle", "effector", "arm"],
): void {
  const kept = expected.cells.filter(({ subject }) => subjects.includes(subject));
  expect(kept.length).toBeGreaterThan(0);
  for (const cell of kept) {
    const own = found.cells.find((other) => names(other) === names(cell))!;
    expect(own.verdict, names(cell)).toBe(cell.verdict);
    expect(Math.abs(own.difference! - cell.difference!), names(cell)).toBeLessThan(1e-9);
    for (const side of ["baseline", "candidate"] as const) {
      expect(own[side].runs).toEqual(cell[side].runs);
      for (const [k, value] of own[side].values.entries())
        expect(Math.abs(value - cell[side].values[k]!), `${names(cell)} ${side} ${k}`).toBeLessThan(1e-9);
    }
  }
}

describe("flights at other headings", () => {
  let unturned: CampaignEvaluation;
  beforeAll(async () => {
    unturned = await judge(flights);
  });

  test("flown facing one way are judged along the room's axes", async () => {
    expect(unturned.settings.judged_in).toEqual({ orbit: { axes: "world", apart: 0, declared: false } });
    expect(unturned.runs.every(({ heading }) => heading?.taken_out === null && heading.source === "setpoint")).toBe(
      true,
    );
    const together = await judge(turnEach(() => 90 * degree));
    expect(together.settings.judged_in.orbit).toMatchObject({ axes: "world", declared: false });
    // what was along x is along y in the room
    const [x, y] = ["x", "y"].map(
      (axis) => (one: CampaignEvaluation) =>
        one.cells.find((cell) => names(cell) === `vehicle ${axis} rms`)!.difference!,
    );
    expect(y!(together)).toBeCloseTo(x!(unturned), 9);
  });

  test("the candidate's turned by 90 degrees say what the unturned say", async () => {
    const turned = await judge(turnEach(byCandidate));
    expectSame(turned, unturned);
    expect(turned.settings.judged_in.orbit!.axes).toBe("heading");
    expect(turned.settings.judged_in.orbit!.apart).toBeCloseTo(90 * degree, 12);
    expect(turned.cells.every((cell) => cell.judged_in === (cell.subject === "arm" ? "vehicle" : "heading"))).toBe(
      true,
    );
    for (const run of turned.runs) {
      expect(run.heading!.taken_out).toBeCloseTo(byCandidate(run.id), 12);
      expect(checksOf(run, "heading-apart")).toEqual([]);
    }
    // the answer says so, and names the axes
    const answer = answerSentence(turned);
    expect(answer).toContain(
      "judged forward, left and up of each run's heading, since the runs face ways up to 90 degrees apart",
    );
    expect(answer).not.toMatch(/along [xyz]\b/);
    const board = verdictBoard(turned, { width: 100, style: textStyle(false) }).join("\n");
    expect(board).toMatch(/forward +left +up/);
    // what explains the differences follows: synchronous vectors, budget
    expect(turned.reasons.synchronous).toHaveLength(unturned.reasons.synchronous.length);
    for (const [k, one] of turned.reasons.synchronous.entries()) {
      expect(Math.abs(one.candidate.cos - unturned.reasons.synchronous[k]!.candidate.cos)).toBeLessThan(1e-9);
    }
    for (const [k, one] of turned.reasons.budget.entries()) {
      for (const axis of ["x", "y", "z"] as const)
        expect(Math.abs(one[axis].parts.attitude - unturned.reasons.budget[k]![axis].parts.attitude)).toBeLessThan(
          1e-9,
        );
    }
  });

  test("each run at a heading of its own says the same", async () => {
    const turned = await judge(turnEach((_, k) => (k - 2) * 67 * degree));
    expectSame(turned, unturned);
    expect(turned.settings.judged_in.orbit!.axes).toBe("heading");
  });

  test("a setpoint without attitude: the measured heading of the hold serves, for what does not rest on the setpoint's yaw", async () => {
    const bare = (logs: Record<string, Recording>): Record<string, Recording> =>
      Object.fromEntries(Object.entries(logs).map(([log, one]) => [log, withoutSetpointAttitude(one)]));
    const straight = await judge(bare(flights), "heading");
    const turned = await judge(bare(turnEach(byCandidate)));
    expectSame(turned, straight, ["vehicle", "arm"]);
    expect(turned.runs.every(({ heading }) => heading!.source === "measured")).toBe(true);
    // the effector's command is laid out from a yaw that nobody flew: doubted, not claimed
    for (const run of turned.runs.filter(({ configuration }) => configuration === "weighted"))
      expect(checksOf(run, "frame-suspect").some(({ severity }) => severity !== "note")).toBe(true);
  });

  test("the room's axes, where the manifest asks for them, are doubted along x and y", async () => {
    const world = await judge(turnEach(byCandidate), "world");
    for (const run of world.runs) {
      const [check] = run.checks.filter(({ code }) => code === "heading-apart");
      expect(check).toMatchObject({
        severity: "doubt",
        touches: { subjects: ["vehicle", "effector"], axes: ["x", "y"], part: "all" },
      });
      expect(run.heading!.taken_out).toBeNull();
    }
    const along = (one: CampaignEvaluation, axis: string): number =>
      one.cells.find((cell) => names(cell) === `vehicle ${axis} rms`)!.difference!;
    expect(Math.abs(along(world, "x") - along(unturned, "x"))).toBeGreaterThan(5e-4);
    expect(along(world, "z")).toBeCloseTo(along(unturned, "z"), 9);
  });

  test("within 5 degrees the room's axes are kept, beyond they are not", async () => {
    const nearly = await judge(turnEach((log) => (log.startsWith("weighted") ? 4.9 * degree : 0)));
    expect(nearly.settings.judged_in.orbit!.axes).toBe("world");
    const beyond = await judge(turnEach((log) => (log.startsWith("weighted") ? 5.1 * degree : 0)));
    expect(beyond.settings.judged_in.orbit!.axes).toBe("heading");
    expectSame(beyond, unturned);
  });
});
