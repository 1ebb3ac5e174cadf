import type { AuditCode } from "../../../src/catalogue/auditFindings.ts";
import { auditCampaign } from "../../../src/comparison/audit/auditCampaign.ts";
import { compareCampaign } from "../../../src/comparison/compareCampaign.ts";
import { type Audit, type AuditFinding, auditSchema } from "../../../src/contract/audit.ts";
import type { Campaign } from "../../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { defaultSettings } from "../../../src/contract/settings.ts";
import { type InventedRun, inventedCampaign, inventedRuns } from "../../support/inventedCampaign.ts";

/** A run, and what else of it an audit looks at. */
export type AuditedRun = InventedRun & { readonly also?: Partial<RunEvaluation> };

/** Nanoseconds of a minute of a day in 2026. */
export function minute(count: number): string {
  return String(1_772_000_000_000_000_000n + BigInt(count) * 60_000_000_000n);
}

/** Runs with `started` in the order given, unless they say otherwise. */
export function flownRuns(wanted: readonly AuditedRun[]): RunEvaluation[] {
  return inventedRuns(wanted).map((run, i) => ({ ...run, started: minute(10 * i), ...wanted[i]!.also }));
}

/** The audit of these runs, as evaluation.json may hold it. */
export function auditOf(
  runs: readonly RunEvaluation[],
  changes: Parameters<typeof inventedCampaign>[1] = {},
  looks = 1,
): Audit {
  const campaign = inventedCampaign(runs, changes);
  const cells = compareCampaign(campaign, runs, defaultSettings);
  const audit = auditCampaign(campaign, runs, cells, { count: looks }, defaultSettings);
  return auditSchema.parse(JSON.parse(JSON.stringify(audit)));
}

/** The findings of one kind. */
export function findingsOf(audit: Audit, code: AuditCode): AuditFinding[] {
  return audit.findings.filter((finding) => finding.code === code);
}

/** "ABBA ABBA" in blocks that the blanks part: A bare, B weighted, S ballast; values spread a little from run to run. */
export function letters(order: string, also: (i: number) => Partial<AuditedRun> = () => ({})): AuditedRun[] {
  const named = { A: "bare", B: "weighted", S: "ballast" } as const;
  return order.split(" ").flatMap((block, b, all) =>
    [...block].map((letter, i) => {
      const place = all.slice(0, b).join("").length + i;
      return {
        configuration: named[letter as keyof typeof named],
        block: `day${b + 1}`,
        // neither rising nor falling to speak of
        value: 0.005 + 0.0002 * Math.sin(2.4 * place + 1),
        ...also(place),
      };
    }),
  );
}

/** Configurations as a careful manifest declares them: 540 g of counterweights, and a sham of the same mass. */
export const declared: Campaign["configurations"] = {
  bare: { label: "Arm alone", addedMass: null, counterweights: [] },
  weighted: {
    label: "Counterweights fitted",
    addedMass: 0.54,
    counterweights: [
      { mass: 0.27, at: [-0.14, 0, 0.02] },
      { mass: 0.27, at: [-0.14, 0, -0.02] },
    ],
  },
  ballast: { label: "Same mass at the centre", addedMass: 0.54, counterweights: [] },
};
