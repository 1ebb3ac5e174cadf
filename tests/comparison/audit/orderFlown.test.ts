import { describe, expect, test } from "vitest";
import { orderFlown } from "../../../src/comparison/audit/orderFindings.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { checkEvaluation } from "../../../src/pipeline/writeEvaluation.ts";
import { auditOf, findingsOf, flownRuns, letters, minute } from "./auditedRuns.ts";

const later = (order: string): { later: number | null; faked: number | null } =>
  auditOf(flownRuns(letters(order))).order[0]!;

describe("what a drift of 2 % a flight would fake", () => {
  // trade practice, section 4.2: AAABBB 6.0 %, ABABAB 2.0 %, ABBAAB 0.7 %, ABBA 0 exactly; the places by hand
  test.each([
    ["AAABBB", 3, 0.06],
    ["ABABAB", 1, 0.02],
    ["ABBAAB", 1 / 3, 0.02 / 3],
    ["ABBA", 0, 0],
    ["BBBAAA", -3, -0.06],
    // within blocks: 2 places in the first, -2 in the second; and 1 in both
    ["AABB BBAA", 0, 0],
    ["ABAB ABAB", 1, 0.02],
    // a block of one configuration says nothing of the difference: 1 and 1
    ["AB AAAA AB", 1, 0.02],
    // one run of each: the means
    ["AB", 1, 0.02],
  ])("%s", (order, places, faked) => {
    expect(later(order).later).toBeCloseTo(places, 12);
    expect(later(order).faked).toBeCloseTo(faked, 12);
  });

  test("mirrored orders fake nothing at all, not even by rounding", () => {
    for (const order of ["ABBA", "ABBA BAAB", "ABBAABBA", "ABBA ABBA BAAB"]) expect(later(order).later).toBe(0);
  });

  test("flights of other trajectories and configurations, and lost runs, take their places too", () => {
    // orbit A at 1 and 6, B at 5 and 7 of seven flights: (5 + 7)/2 - (1 + 6)/2 = 2.5; among themselves A B A B would be 1
    const runs = flownRuns([
      { configuration: "bare", value: 0.005 },
      { configuration: "bare", trajectory: "reach", value: 0.005 },
      { configuration: "weighted", value: 0.005, unusable: true },
      { configuration: "ballast", value: 0.005 },
      { configuration: "weighted", value: 0.006 },
      { configuration: "bare", value: 0.007 },
      { configuration: "weighted", value: 0.004 },
    ]);
    const { order } = auditOf(runs);
    expect(order[0]).toMatchObject({ trajectory: "orbit", places: [1, 5, 6, 7], later: 2.5 });
    expect(order[0]!.sequence).toEqual(["bare", "weighted", "bare", "weighted"]);
    expect(order[1]).toMatchObject({ trajectory: "reach", runs: ["run-2"], places: [2], later: null, faked: null });
  });

  test("a doubt from 1 % on, in words that name the later one; none below", () => {
    const doubts = findingsOf(auditOf(flownRuns(letters("ABABAB"))), "order-drift");
    expect(doubts).toHaveLength(1);
    expect(doubts[0]!.message).toBe(
      "orbit: weighted was flown 1 place later than bare on average, by the declared starts: an error that grew or fell by 2.0 % a flight (battery, air, a warming arm) would look like a difference of 2.0 %",
    );
    expect(findingsOf(auditOf(flownRuns(letters("BBBAAA"))), "order-drift")[0]!.message).toContain(
      "bare was flown 3 places later than weighted",
    );
    for (const order of ["ABBAAB", "ABBA BAAB"])
      expect(findingsOf(auditOf(flownRuns(letters(order))), "order-drift")).toEqual([]);
  });
});

describe("where the order comes from", () => {
  const three = (also: readonly Partial<RunEvaluation>[]): RunEvaluation[] =>
    flownRuns(also.map((each, i) => ({ configuration: i % 2 === 0 ? "bare" : "weighted", value: 0.005, also: each })));
  const places = (runs: readonly RunEvaluation[]): (number | undefined)[] => {
    const { places: of } = orderFlown(runs);
    return runs.map(({ id }) => of.get(id));
  };

  test("declared starts come first, whatever the manifest's order", () => {
    const runs = three([{ started: minute(9) }, { started: minute(3) }, { started: minute(5) }]);
    expect(orderFlown(runs).source).toBe("started");
    expect(places(runs)).toEqual([3, 1, 2]);
  });

  test("where a used run has no start, or two the same, the dates in the logs", () => {
    const dated = { a: { epoch: minute(7) }, b: { epoch: minute(2) }, c: { epoch: minute(4) } };
    for (const started of [
      [minute(1), null, minute(2)],
      [minute(0), minute(0), minute(0)],
    ]) {
      const runs = three([
        { ...dated.a, started: started[0]! },
        { ...dated.b, started: started[1]! },
        { ...dated.c, started: started[2]! },
      ]);
      expect(orderFlown(runs).source).toBe("log times");
      expect(places(runs)).toEqual([3, 1, 2]);
    }
  });

  test("clocks that count from boot order nothing: the manifest's order, and a note", () => {
    const none = { started: null };
    const runs = three([
      { ...none, epoch: "912000000000" },
      { ...none, epoch: "54000000000" },
      { ...none, epoch: minute(1) },
      { ...none, epoch: null },
    ]);
    expect(orderFlown(runs)).toMatchObject({ source: "manifest", contradiction: null });
    expect(places(runs)).toEqual([1, 2, 3, 4]);
    const audit = auditOf(runs);
    expect(audit.order[0]!.source).toBe("manifest");
    expect(findingsOf(audit, "order-unknown")).toMatchObject([{ severity: "note" }]);
    expect(findingsOf(auditOf(flownRuns(letters("ABBA"))), "order-unknown")).toEqual([]);
  });

  test("a lost run need not be dated, and a log filed twice is one flight", () => {
    const copied = { code: "copied", severity: "unusable", message: "", evidence: {}, hint: "" } as const;
    const runs = three([{}, { used: false, started: null }, { used: false, checks: [checkEvaluation(copied)] }, {}]);
    expect(orderFlown(runs).source).toBe("started");
    expect(places(runs)).toEqual([1, undefined, undefined, 2]);
  });

  test("starts that the logs' dates contradict are a doubt that names the runs", () => {
    const runs = three([
      { started: minute(1), epoch: minute(1) },
      { started: minute(2), epoch: minute(3) },
      { started: minute(3), epoch: minute(2) },
    ]);
    expect(orderFlown(runs)).toMatchObject({ source: "started", contradiction: ["run-2", "run-3"] });
    expect(findingsOf(auditOf(runs), "order-unknown")).toMatchObject([{ severity: "doubt" }]);
  });
});
