import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { type Look, lookSchema } from "../contract/look.ts";
import { ManifestError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";
import { besideManifest } from "./paths.ts";
import { version } from "./version.ts";

/** What a look is told apart by. */
type LookGrounds = Pick<Look, "used" | "primary" | "smallest_difference">;

/**
 * Counts how often the verdicts of a campaign were looked at, and adds this time to looks.jsonl beside the manifest.
 *
 * A look counts when the set of used runs, the primary metric or the smallest difference is not what it was at the look
 * before. Flying on until a verdict comes inflates false alarms, so every output says the count. The file grows by one
 * line, written whole or not at all; where the disk refuses, the count still holds this look and `recorded` is false.
 *
 * @param looks  the looks on record (`readLooks`)
 */
export async function recordLook(
  evaluation: Pick<CampaignEvaluation, "runs" | "settings">,
  looks: readonly Look[],
  manifestPath: string,
  effects: Effects,
): Promise<CampaignEvaluation["looks"]> {
  const grounds: LookGrounds = {
    used: evaluation.runs
      .filter((run) => run.used)
      .map((run) => run.id)
      .sort(),
    primary: evaluation.settings.primary,
    smallest_difference: evaluation.settings.smallest_difference,
  };
  const last = looks.at(-1);
  if (last !== undefined && groundsKey(last) === groundsKey(grounds)) {
    return { count: looks.length, first: looks[0]!.at, recorded: true };
  }
  const look: Look = { at: effects.now().toISOString(), tool: version, ...grounds };
  const lines = [...looks, look].map((one) => `${JSON.stringify(one)}\n`);
  const first = looks[0]?.at ?? look.at;
  try {
    await effects.writeAtomically(looksPath(manifestPath), lines.join(""));
    return { count: looks.length + 1, first, recorded: true };
  } catch {
    return { count: looks.length + 1, first, recorded: false };
  }
}

/** The count without this time: for what shows no verdicts. */
export function looksOnRecord(looks: readonly Look[]): CampaignEvaluation["looks"] {
  return { count: looks.length, first: looks[0]?.at ?? null, recorded: true };
}

function looksPath(manifestPath: string): string {
  return besideManifest(manifestPath, "looks.jsonl");
}

/**
 * The looks on record beside a manifest, in order; none where there is no looks.jsonl.
 *
 * @throws ManifestError  code `looks-invalid`: a line is not a look, or the file cannot be read; it is left as it is
 */
export async function readLooks(manifestPath: string, effects: Effects): Promise<Look[]> {
  const path = looksPath(manifestPath);
  if ((await effects.size(path)) === null) return [];
  let text: string;
  try {
    text = await effects.readText(path);
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    throw new ManifestError("looks-invalid", `the record of looks cannot be read: ${why}`, {
      place: path,
      hint: "it must be a text file that you may read; the tool alone writes it",
      cause,
    });
  }
  return parseLooks(text, path);
}

function groundsKey({ used, primary, smallest_difference: { vehicle, effector, arm } }: LookGrounds): string {
  return JSON.stringify([used, primary, vehicle, effector, arm]);
}

/** Blank lines are skipped. */
function parseLooks(text: string, path: string): Look[] {
  return text.split("\n").flatMap((line, index) => {
    if (line.trim() === "") return [];
    let found: unknown;
    try {
      found = JSON.parse(line);
    } catch {
      found = undefined;
    }
    const result = lookSchema.safeParse(found);
    if (result.success) return [result.data];
    const what = result.error.issues[0]!;
    const at = what.path.length === 0 ? "" : ` at ${what.path.join(".")}`;
    throw new ManifestError("looks-invalid", `found a line that is no look${at}, expected the record of one look`, {
      place: `${path}:${index + 1}`,
      hint: "the tool alone writes this file; restore it, or move it away to begin the count anew (and say so)",
    });
  });
}
