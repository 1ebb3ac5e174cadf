import type { Campaign } from "../src/contract/campaign.ts";
import type { Effects } from "../src/pipeline/effects.ts";
import { besideManifest } from "../src/pipeline/paths.ts";

/** The logs and static captures of a campaign, as the disk knows them. */
export function logsOf(campaign: Campaign, manifestPath: string): string[] {
  const logs = campaign.runs.flatMap((run) => Object.values(run.logs).flat());
  return [...campaign.staticCaptures, ...logs].map((path) => besideManifest(manifestPath, path));
}

/** Effects that end an evaluation at the next log or sum once the service is stopped. */
export function stoppable(effects: Effects, isStopped: () => boolean): Effects {
  const guard = (): void => {
    if (isStopped()) throw new Error("the service was stopped");
  };
  return {
    ...effects,
    readLog: async (...args) => {
      guard();
      return effects.readLog(...args);
    },
    sha256: async (path) => {
      guard();
      return effects.sha256(path);
    },
  };
}

/** Effects that note which files are asked for. */
export function noticing(effects: Effects, touched: Set<string>): Effects {
  return {
    ...effects,
    size: (path) => {
      touched.add(path);
      return effects.size(path);
    },
  };
}
