import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { type Look, lookSchema, type SealedForecast, sealedForecastSchema } from "../contract/look.ts";
import { ManifestError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";
import { type LookedAt, lookAt, looksAt } from "./lookGrounds.ts";
import { openingOf } from "./opening.ts";
import { paidOf } from "./paidLooks.ts";
import { besideManifest, sumOf } from "./wholeText.ts";

/**
 * The count of looks with the one that is about to be shown (`lookAt` says what makes another one). Flying on until a verdict
 * comes inflates false alarms, so every output says the count. Nothing is written: that is for when the verdicts are out
 * (`recordLook`).
 *
 * @param looks  the looks on record (`readLooks`)
 */
export function countLook(looks: readonly Look[], at: LookedAt, now: Date): CampaignEvaluation["looks"] {
  const own = looksAt(looks, at);
  const look = lookAt(at, now);
  const isNew = own.at(-1)?.grounds !== look.grounds;
  return { count: own.length + (isNew ? 1 : 0), first: own[0]?.at ?? look.at, recorded: true };
}

/** The count without this time: for what shows no verdicts. */
export function looksOnRecord(looks: readonly Look[], at: LookedAt): CampaignEvaluation["looks"] {
  const own = looksAt(looks, at);
  return { count: own.length, first: own[0]?.at ?? null, recorded: true };
}

/**
 * Adds a look to looks.jsonl beside the manifest, unless the last one at these flights rests on the same. The record is read
 * again under a lock, so that evaluations side by side lose none of each other's; it grows by one line, written whole or not
 * at all.
 *
 * @param cells  what was shown, for looks that are paid for
 * @returns false where the disk refuses
 * @throws ManifestError  code `looks-invalid`, as `readLooks`
 */
export async function recordLook(
  at: LookedAt,
  manifestPath: string,
  effects: Effects,
  cells: readonly Cell[] = [],
): Promise<boolean> {
  const path = looksPath(manifestPath);
  const look = lookAt(at, effects.now());
  try {
    await effects.locked(path, async () => {
      const { looks, text } = await readRecord(manifestPath, effects);
      if (looksAt(looks, at).at(-1)?.grounds === look.grounds) return;
      const isFirst = looksAt(looks, at).length === 0;
      const line = { ...look, ...(isFirst ? { opening: openingOf(at) } : {}), ...paidOf(at.campaign, cells) };
      await effects.writeAtomically(path, withLine(text, line));
    });
    return true;
  } catch (error) {
    if (error instanceof ManifestError) throw error;
    return false;
  }
}

export function looksPath(manifestPath: string): string {
  return besideManifest(manifestPath, "looks.jsonl");
}

/**
 * The looks on record beside a manifest, in order; none where there is no looks.jsonl.
 *
 * @throws ManifestError  code `looks-invalid`: a line is not a look, or the file cannot be read; it is left as it is
 */
export async function readLooks(manifestPath: string, effects: Effects): Promise<Look[]> {
  return (await readRecord(manifestPath, effects)).looks;
}

/** Everything on record, as `readLooks`; forecasts stand among the looks, and are none. */
export async function readRecord(
  manifestPath: string,
  effects: Effects,
): Promise<{ readonly looks: Look[]; readonly forecasts: SealedForecast[]; readonly text: string }> {
  const path = looksPath(manifestPath);
  if ((await effects.size(path)) === null) return { looks: [], forecasts: [], text: "" };
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
  return { ...parseRecord(text, path), text };
}

/** The text with a line more; one that ends within a line is brought to its end. */
export function withLine(text: string, line: Look | SealedForecast): string {
  return `${text}${text === "" || text.endsWith("\n") ? "" : "\n"}${JSON.stringify(line)}\n`;
}

/** Blank lines are skipped. */
function parseRecord(text: string, path: string): { looks: Look[]; forecasts: SealedForecast[] } {
  const [looks, forecasts]: [Look[], SealedForecast[]] = [[], []];
  const fault = (message: string, index: number): ManifestError =>
    new ManifestError("looks-invalid", message, {
      place: `${path}:${index + 1}`,
      hint: "the tool alone writes this file; restore it, or move it away to begin the count again (and say so)",
    });
  for (const [index, line] of text.split("\n").entries()) {
    if (line.trim() === "") continue;
    let found: unknown;
    try {
      found = JSON.parse(line);
    } catch {
      found = undefined;
    }
    const sealed = sealedForecastSchema.safeParse(found);
    const look = lookSchema.safeParse(found);
    if (look.success) looks.push(look.data);
    else if (!sealed.success) {
      const what = look.error.issues[0]!;
      const at = what.path.length === 0 ? "" : ` at ${what.path.join(".")}`;
      throw fault(`found a line that is no look${at}, expected the record of one look`, index);
    } else if (sumOf(JSON.stringify(sealed.data.forecast)) === sealed.data.sha256) forecasts.push(sealed.data);
    else throw fault("found a forecast with another SHA-256 than it was sealed with, expected it unchanged", index);
  }
  return { looks, forecasts };
}
