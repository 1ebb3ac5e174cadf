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
        if (filed.length === 0) continue;
        const used = filed.filter((run) => run.used);
        configurations[key] = { filed: filed.length, used: used.length, heading: meanHeading(used) };
      }
      return { trajectory, block, configurations };
    });
  });
}

/** Circular mean of the runs' headings; null where none is known, or they face all ways (mean resultant below 0.9). */
function meanHeading(runs: AuditedCampaign["runs"]): number | null {
  const yaws = runs.flatMap(({ heading }) => heading?.yaw ?? []);
  const sine = yaws.reduce((sum, yaw) => sum + Math.sin(yaw), 0);
  const cosine = yaws.reduce((sum, yaw) => sum + Math.cos(yaw), 0);
  return yaws.length > 0 && Math.hypot(sine, cosine) > 0.9 * yaws.length ? Math.atan2(sine, cosine) : null;
}
