import { closeSync, openSync, readSync, realpathSync, statSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { ArgumentError } from "../../foundation/errors.ts";
import { diskEffects } from "../../pipeline/effects.ts";
import type { evaluateCampaign } from "../../pipeline/evaluateCampaign.ts";
import { type KeepingWish, keptOf } from "../../pipeline/kept/keeping.ts";
import { findAnswer, keepAnswer, witnessed } from "../../pipeline/kept/keptAnswer.ts";
import { besideManifest, writeWhole } from "../../pipeline/wholeText.ts";
import type { writeEvaluation } from "../../pipeline/writeEvaluation.ts";
import { plainText, textFrame } from "../../report/text/layout.ts";
import { type CommandInput, isFolder, keepingWish, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/** What the command stands on. Tests pass their own. */
export interface EvaluateJourneys {
  readonly evaluateCampaign: typeof evaluateCampaign;
  readonly writeEvaluation: typeof writeEvaluation;
}

/**
 * `counterpoise evaluate MANIFEST`: evaluates, writes the evaluation, then prints it. Where nothing changed since the last time the
 * kept answer is written again, before anything is loaded that could work one out.
 *
 * @returns 0; 1 where no run can be used, or where `--strict` was given and some run was unusable
 * @throws ArgumentError  no manifest in the folder, or a place that must not be written
 * @throws ManifestError  the manifest is at fault
 * @throws CounterpoiseError  code `not-written`: the disk refused
 */
export async function evaluate(
  input: CommandInput,
  terminal: Terminal,
  journeys: EvaluateJourneys | null = null,
): Promise<number> {
  const { flags, values, operands } = input;
  const manifest = manifestPath(operands[0]!);
  const wanted = values.get("out") ?? null;
  const path = wanted === "-" ? null : outputPath(manifest, wanted);
  const wish = keepingWish(input);
  const { evaluation, json } =
    (await again(manifest, wish, path)) ?? (await afresh(manifest, wish, path, terminal, flags, journeys));
  if (path === null || flags.has("json")) terminal.out(await json());
  else if (!flags.has("quiet")) {
    terminal.out(await textOf(evaluation, terminal, flags));
    terminal.out(`Written: ${plainText(path)}\n`);
  }
  const { runs } = evaluation;
  const unusable = runs.some(({ checks }) => checks.some(({ severity }) => severity === "unusable"));
  const nothing = runs.length > 0 && !runs.some(({ used }) => used);
  return nothing || (flags.has("strict") && unusable) ? 1 : 0;
}

/** An evaluation with its text as evaluation.json has it. */
interface Answer {
  readonly evaluation: CampaignEvaluation;
  readonly json: () => Promise<string>;
}

/** The kept answer, written; null where there is none that holds. */
async function again(manifest: string, wish: KeepingWish, path: string | null): Promise<Answer | null> {
  const kept = wish.verify ? null : keptOf(manifest, wish);
  const json = kept === null ? null : await findAnswer(kept, manifest, diskEffects);
  if (json === null) return null;
  if (path !== null) {
    const words = { what: "the evaluation", hint: "choose another place with --out" };
    await writeWhole(path, json, words, diskEffects);
  }
  return { evaluation: JSON.parse(json), json: async () => json };
}

async function afresh(
  manifest: string,
  wish: KeepingWish,
  path: string | null,
  terminal: Terminal,
  flags: CommandInput["flags"],
  journeys: EvaluateJourneys | null,
): Promise<Answer> {
  const { keptJourney } = await import("../../pipeline/kept/keptJourney.ts");
  const { evaluationJson, writeEvaluation } = await import("../../pipeline/writeEvaluation.ts");
  const { evaluateCampaign } = await import("../../pipeline/evaluateCampaign.ts");
  const { evaluateCampaign: judge, writeEvaluation: write } = journeys ?? { evaluateCampaign, writeEvaluation };
  const { save, measureRuns, effects } = keptJourney(manifest, wish);
  const witness = witnessed(effects, besideManifest(manifest, "looks.jsonl"));
  const progress = progressLine(terminal, { quiet: flags.has("quiet") });
  let next: CampaignEvaluation | null = null;
  try {
    const evaluation = await judge(manifest, {
      measureRuns,
      effects: witness.effects,
      ...(path === null ? {} : { write: (found) => write(found, path) }),
      settled: (found) => {
        next = found;
      },
      onProgress: ({ done, total, run, stage }) =>
        progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
    });
    await save();
    const kept = keptOf(manifest, wish);
    if (kept !== null && next !== null) await keepAnswer(kept, manifest, witness.facts(), evaluationJson(next));
    return { evaluation, json: async () => evaluationJson(evaluation) };
  } finally {
    progress.clear();
  }
}

async function textOf(
  evaluation: CampaignEvaluation,
  terminal: Terminal,
  flags: CommandInput["flags"],
): Promise<string> {
  const { width, colour } = terminal;
  const [notes, audit] = [flags.has("notes"), flags.has("audit")];
  if (flags.has("full") || notes || audit) {
    const { evaluationText } = await import("../../report/evaluationText.ts");
    return evaluationText(evaluation, { width, colour, notes, audit });
  }
  const { briefText } = await import("../../report/briefText.ts");
  return briefText(evaluation, textFrame({ width, colour }));
}

/**
 * Where the evaluation goes: `wanted`, or `evaluation.json` beside the manifest. Looked at before the work starts.
 *
 * @throws ArgumentError  a folder, a file in no folder, the manifest itself, the record of looks, or a file that holds something
 *   else than an evaluation: a slip of the hand must not cost a log
 */
function outputPath(manifest: string, wanted: string | null): string {
  const path = wanted ?? join(dirname(manifest), "evaluation.json");
  if (isFolder(path))
    throw refusal(path, "found a folder, expected the name of a file", `--out ${join(path, "evaluation.json")}`);
  const folder = dirname(path);
  // no folder of the manifest: then there is no manifest either, and that is what is said
  if (wanted === null && !isFolder(folder)) return path;
  if (!isFolder(folder))
    throw refusal(path, `found no folder ${folder}, expected one to write to`, "make the folder first");
  if (basename(path) === "looks.jsonl")
    throw refusal(
      path,
      "found looks.jsonl, which holds the record of looks, expected another name",
      "choose another name",
    );
  if (statSync(path, { throwIfNoEntry: false }) === undefined) return path;
  if (sameFile(path, manifest))
    throw refusal(path, "found the manifest, expected another file to write to", "choose another name");
  if (!isEvaluation(path))
    throw refusal(
      path,
      "found a file that is no evaluation, expected one that may be replaced",
      "choose another name, or move the file away",
    );
  return path;
}

function refusal(path: string, message: string, hint: string): ArgumentError {
  return new ArgumentError("output-refused", message, { place: path, hint });
}

function sameFile(a: string, b: string): boolean {
  try {
    return realpathSync(a) === realpathSync(b);
  } catch {
    return false;
  }
}

/** By how every evaluation begins; an empty file holds nothing that could be lost. */
function isEvaluation(path: string): boolean {
  const start = Buffer.alloc(64);
  let file: number | null = null;
  try {
    file = openSync(path, "r");
    const length = readSync(file, start, 0, start.length, 0);
    return length === 0 || /^\s*\{\s*"schema"\s*:\s*\d+\s*(?:\}|,\s*"title")/.test(start.toString("utf8", 0, length));
  } catch {
    // what cannot be read can perhaps be written: the disk has the last word
    return true;
  } finally {
    if (file !== null) closeSync(file);
  }
}
