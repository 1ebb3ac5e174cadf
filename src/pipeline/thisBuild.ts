import manifest from "../../package.json" with { type: "json" };
import type { CampaignEvaluation } from "../contract/evaluation.ts";

// in the built program these stand for a commit (null outside git) and a hash of all that was built: tools/build.mjs
declare const builtCommit: string | null | undefined;
declare const builtParts: string | undefined;

/** What makes evaluations: two builds that differ in anything differ here. */
export const thisBuild: CampaignEvaluation["tool"] = {
  name: "counterpoise",
  version: manifest.version,
  commit: typeof builtCommit === "undefined" ? null : builtCommit,
  parts: typeof builtParts === "undefined" ? null : builtParts,
};
