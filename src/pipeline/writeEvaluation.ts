import { mkdir, rename, rm, unlink, writeFile } from "node:fs/promises";
import { dirname, join, relative, resolve } from "node:path";
import { touchOf } from "../catalogue/checks.ts";
import { type CampaignEvaluation, evaluationSchema, type RunCheck } from "../contract/evaluation.ts";
import { jsonSchemaOf } from "../contract/jsonSchemas.ts";
import type { Check } from "../foundation/checks.ts";
import { CounterpoiseError } from "../foundation/errors.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { writeWhole } from "./wholeText.ts";

/**
 * Validates an evaluation against its own schema and writes it whole or not at all.
 *
 * @throws CounterpoiseError  code `evaluation-invalid`: a fault of the tool, nothing was written; `not-written`: the disk refused
 */
export async function writeEvaluation(
  evaluation: CampaignEvaluation,
  path: string,
  effects: Effects = diskEffects,
): Promise<void> {
  const words = { what: "the evaluation", hint: "choose another place with --out" };
  await writeWhole(path, evaluationJson(evaluation), words, effects);
}

/** The text of evaluation.json, validated. */
export function evaluationJson(evaluation: CampaignEvaluation): string {
  const result = evaluationSchema.safeParse(evaluation);
  if (!result.success) {
    const first = result.error.issues[0]!;
    throw new CounterpoiseError(
      "evaluation-invalid",
      `the evaluation breaks its own schema at ${first.path.join(".")}: ${first.message}`,
      {
        hint: "this is a fault of the tool: please report it with the manifest",
      },
    );
  }
  return `${JSON.stringify(evaluation, null, 1)}\n`;
}

/** A finding as it stands in the evaluation, with all that it can have moved. */
export function checkEvaluation(check: Check): RunCheck {
  const { subjects, axes, windows, part } = touchOf(check);
  return {
    code: check.code,
    severity: check.severity,
    message: check.message,
    evidence: { ...check.evidence } as RunCheck["evidence"],
    hint: check.hint,
    touches: { subjects: [...subjects], axes: [...axes], windows: [...windows], part },
    accepted_because: null,
  };
}

export interface PlanFile {
  readonly path: string;
  readonly text: string;
}

/** The disk, as far as files of a plan need it. */
export interface PlanDisk {
  readonly write: (path: string, text: string) => Promise<void>;
  readonly rename: (from: string, to: string) => Promise<void>;
  readonly remove: (path: string) => Promise<void>;
}

const planDisk: PlanDisk = { write: (path, text) => writeFile(path, text), rename, remove: unlink };

/**
 * Writes the files of a plan, each whole or not at all, and none before the texts of all are safe on the disk: a disk that is
 * full leaves everything as it was.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused; the message names what was written before it did
 */
export async function writePlanFiles(files: readonly PlanFile[], disk: PlanDisk = planDisk): Promise<void> {
  const parts = files.map(({ path, text }) => ({ path, text, part: `${path}.${process.pid}.part` }));
  const written: string[] = [];
  let at = files[0]?.path ?? "";
  try {
    for (const { path, text, part } of parts) {
      at = path;
      await disk.write(part, text);
    }
    for (const { path, part } of parts) {
      at = path;
      await disk.rename(part, path);
      written.push(path);
    }
  } catch (cause) {
    const left = parts.filter(({ path }) => !written.includes(path));
    await Promise.all(left.map(({ part }) => disk.remove(part).catch(() => undefined)));
    const rest = written.length === 0 ? "nothing was written" : `only ${written.join(", ")} was written`;
    throw new CounterpoiseError(
      "not-written",
      `the plan cannot be written: ${cause instanceof Error ? cause.message : cause}; ${rest}`,
      { place: at, hint: "choose another place", cause },
    );
  }
}

/** The way from a manifest to the folder of its logs, as a manifest writes paths; "" where it lies in it. */
export function wayTo(logFolder: string, manifest: string): string {
  return relative(resolve(dirname(manifest)), resolve(logFolder)).replaceAll("\\", "/");
}

/** Where the schema lies that editors complete a manifest by, from the manifest on: what the program keeps beside it for itself. */
const schemaPath = ".counterpoise/manifest.schema.json";

/**
 * Writes the draft of a manifest to a new file, and the schema beside it that its first line names: editors that know YAML then
 * complete its keys and say what they mean, without network.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused, or the file is there already
 */
export async function writeDraft(path: string, manifest: string): Promise<void> {
  let isOurs = false;
  try {
    await writeFile(path, `# yaml-language-server: $schema=${schemaPath}\n${manifest}`, { flag: "wx" });
    isOurs = true;
    const schema = join(dirname(path), schemaPath);
    await mkdir(dirname(schema), { recursive: true });
    await writeFile(schema, `${JSON.stringify(jsonSchemaOf("manifest"), null, 1)}\n`);
  } catch (cause) {
    // a draft without the schema that it names is half written
    if (isOurs) await rm(path, { force: true });
    throw new CounterpoiseError("not-written", `the draft cannot be written: ${(cause as Error).message}`, {
      place: path,
      hint: "choose another name or folder for --draft",
      cause,
    });
  }
}
