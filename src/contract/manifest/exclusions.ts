import { ManifestError } from "../../foundation/errors.ts";
import { likelyName } from "../../foundation/nearest.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import type { Campaign } from "../campaign.ts";
import { choice, field, list, mapping, optional, text } from "./fields.ts";
import { parseInstant } from "./instant.ts";
import { ProblemList } from "./problems.ts";
import { Reading } from "./reading.ts";
import { dated, inWords, parseReason } from "./runSchema.ts";
import { readYamlTree } from "./yamlTree.ts";

/** A person's later word on one run, stronger than the manifest's `exclude`. */
export interface Exclusion {
  readonly run: string;
  /** true: the run is put back */
  readonly include: boolean;
  readonly reason: string;
  readonly at: Nanoseconds | null;
  /** `file:line:column` */
  readonly place: string;
}

const entry = mapping(
  {
    run: text("the id of a run"),
    include: optional(choice(["true", "false"], "whether the run is put back")),
    reason: field(parseReason, inWords),
    at: optional(field(parseInstant, dated)),
  },
  "an exclusion",
);
const file = mapping({ exclusions: optional(list(entry, "exclusions")) }, "the exclusions");

/**
 * Reads `exclusions.yaml`: `exclusions: [{ run: flight-02, reason: "arm jammed", at: 2026-09-14T09:30:00Z }]`;
 * `include: true` puts a run back that the manifest excludes. An empty file excludes nothing.
 *
 * @returns at most one entry per run, in the order of the file
 * @throws ManifestProblemsError  `exclusions-invalid`, or as `readYamlTree`
 */
export function parseExclusions(content: string, fileName: string): readonly Exclusion[] {
  const { root, places } = readYamlTree(content, fileName);
  const problems = new ProblemList();
  const reading = new Reading(places, problems);
  const found = root === null ? null : reading.read(file, root, []);
  const exclusions = (found?.exclusions ?? []).map(({ run, include, reason, at }, index) => {
    const place = reading.place(["exclusions", index]);
    return { run, include: include === "true", reason, at, place };
  });
  const first = new Map<string, string>();
  for (const [index, { run, place }] of exclusions.entries()) {
    const before = first.get(run);
    if (before === undefined) first.set(run, place);
    else
      reading.complain(["exclusions", index], `found run ${run} a second time, expected it once (first at ${before})`);
  }
  problems.throwIfAny("exclusions-invalid");
  return exclusions;
}

/**
 * The campaign with a person's exclusions applied; the one handed in is not changed.
 *
 * @throws ManifestError  code `exclusion-unknown-run` where an entry names no run: left unsaid, a renamed run would
 *   slip back into the verdict
 */
export function applyExclusions(campaign: Campaign, exclusions: readonly Exclusion[]): Campaign {
  const ids = campaign.runs.map(({ id }) => id);
  const known = new Set(ids);
  for (const { run, place } of exclusions) {
    if (known.has(run)) continue;
    const near = likelyName(run, ids);
    const hint = near === null ? "take the entry out or correct its id" : `did you mean ${near}?`;
    const message = `found the run ${JSON.stringify(run)}, expected the id of a run of the campaign`;
    throw new ManifestError("exclusion-unknown-run", message, { hint, place });
  }
  const byRun = new Map(exclusions.map((exclusion) => [exclusion.run, exclusion]));
  const runs = campaign.runs.map((run) => {
    const exclusion = byRun.get(run.id);
    if (exclusion === undefined) return run;
    const { include, reason } = exclusion;
    return include ? { ...run, exclude: null, putBack: reason } : { ...run, exclude: reason };
  });
  return { ...campaign, runs };
}
