import type { Audit } from "../../contract/audit.ts";
import type { AuditedCampaign } from "./auditFinding.ts";

/** Runs per trajectory, block and configuration, filed and used; blocks as they appear, runs without one in a row of their own. */
export function blockTable({ campaign, runs }: AuditedCampaign): Audit["blocks"] {
  return Object.keys(campaign.trajectories).flatMap((trajectory) => {
    const own = runs.filter((run) => run.trajectory === trajectory);
    return [...new Set(own.map(({ block }) => block))].map((block) => {
      const inBlock = own.filter((run) => run.block === block);
      const configurations: Audit["blocks"][number]["configurations"] = {};
      for (const key of Object.keys(campaign.configurations)) {
        const filed = inBlock.filter(({ configuration }) => configuration === key);
        if (filed.length > 0)
          configurations[key] = { filed: filed.length, used: filed.filter(({ used }) => used).length };
      }
      return { trajectory, block, configurations };
    });
  });
}
