import { expect, test } from "vitest";
import { flightDay } from "../../../src/comparison/plan/flightDay.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";
import { inventedCampaign } from "../../support/inventedCampaign.ts";
import { type AuditedRun, auditOf, declared, flownRuns, minute } from "../audit/auditedRuns.ts";

const orbit = inventedCampaign([]).trajectories.orbit!;

function named(count: number): Record<string, typeof orbit> {
  return Object.fromEntries(["orbit", "reach", "hold"].slice(0, count).map((name) => [name, orbit]));
}

// The audit is the reader who will doubt the day: what it says of order, blocks and packs it works out for itself.
test.each([
  [3, 2],
  [3, 1],
  [4, 2],
  [5, 2],
  [6, 2],
  [7, 3],
  [8, 4],
])("a day of %d runs in %d blocks, flown as planned, leaves the audit nothing to doubt but chance", (runs, blocks) => {
  for (const count of [1, 2, 3]) {
    for (const sham of [false, true]) {
      const campaign = {
        ...inventedCampaign([], { trajectories: named(count), configurations: declared }),
        sham: "ballast",
      };
      const plan = { runs_to_fly: runs, blocks };
      const day = flightDay(campaign, plan, { seed: 100 * runs + count, sham, flownIds: [] });
      const random = seededRandom(count);
      const flown = day.cards
        .filter(({ kind }) => kind === "flight")
        .map(
          (card, i): AuditedRun => ({
            id: card.id!,
            configuration: card.configuration!,
            trajectory: card.trajectory!,
            block: card.block,
            value: () => 0.01 + 0.001 * random.normal(),
            also: { started: minute(10 * i), battery: card.battery },
          }),
        );
      const audit = auditOf(flownRuns(flown), {
        trajectories: named(count),
        configurations: declared,
        sham: "ballast",
      });
      for (const { trajectory, later } of audit.order) expect(later).toBeCloseTo(day.later[trajectory]!, 12);
      const codes = audit.findings.map(({ code }) => code);
      for (const code of ["order-drift", "order-unknown", "battery-apart", "separate-blocks", "uneven-blocks"]) {
        expect(codes, `${count} trajectories, sham ${sham}`).not.toContain(code);
      }
    }
  }
});
