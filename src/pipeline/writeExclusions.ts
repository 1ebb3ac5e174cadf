import { Document, isMap, isSeq, parseDocument, visit, type YAMLMap, YAMLSeq } from "yaml";
import { applyExclusions, type Exclusion, parseExclusions } from "../contract/manifest/exclusions.ts";
import { CounterpoiseError, ManifestError } from "../foundation/errors.ts";
import { likelyName } from "../foundation/nearest.ts";
import type { Effects } from "./effects.ts";
import { loadCampaign } from "./loadCampaign.ts";
import { besideManifest, writeWhole } from "./wholeText.ts";

/** A person's new word on a run; `decision` null takes the former word back. */
export interface ExclusionChange {
  readonly run: string;
  readonly decision: { readonly include: boolean; readonly reason: string; readonly at: Date | null } | null;
}

const heading = " A person's word on single runs, stronger than the manifest. Written by the dashboard; may be edited.";

/** What `exclusions.yaml` beside a manifest says; nothing where there is no such file. */
export async function readExclusions(manifestPath: string, effects: Effects): Promise<readonly Exclusion[]> {
  const path = besideManifest(manifestPath, "exclusions.yaml");
  return (await effects.size(path)) === null ? [] : parseExclusions(await effects.readText(path), path);
}

/**
 * Changes one entry of `exclusions.yaml` beside the manifest, written whole or not at all. The other entries, and a
 * person's comments, stay as they are.
 *
 * @returns the exclusions as they now stand
 * @throws ManifestError      manifest or exclusions.yaml are at fault as they stand: nothing is written over them
 * @throws CounterpoiseError  code `unknown-run`; `reason-refused` where the reason is a switch and no words;
 *   `not-written` where the disk refused
 */
export async function writeExclusions(
  manifestPath: string,
  change: ExclusionChange,
  effects: Effects,
): Promise<readonly Exclusion[]> {
  const path = besideManifest(manifestPath, "exclusions.yaml");
  for (let tries = 0; tries < mostTries; tries++) {
    const written = await tryToWrite(manifestPath, path, change, effects);
    if (written !== null) return written;
  }
  throw new CounterpoiseError(
    "not-written",
    "found exclusions that are edited again and again, expected them to rest",
    {
      place: path,
      hint: "nothing was written; try again once the other program is done",
    },
  );
}

/** A person saves once in a while: more edits than these in one moment are no person's. */
const mostTries = 10;

const textOf = async (path: string, effects: Effects): Promise<string> =>
  (await effects.size(path)) === null ? "" : await effects.readText(path);

/** null where the file was edited meanwhile: what was read is another by now, and nothing is written over it. */
async function tryToWrite(
  manifestPath: string,
  path: string,
  change: ExclusionChange,
  effects: Effects,
): Promise<readonly Exclusion[] | null> {
  const { campaign } = await loadCampaign(manifestPath, effects);
  const ids = campaign.runs.map(({ id }) => id);
  if (!ids.includes(change.run)) throw unknownRun(change.run, ids);
  const before = await textOf(path, effects);
  const expected = withChange(parseExclusions(before, path), change);
  // aliases cannot be taken apart in place: such a file is written again, without its comments
  const text = hasAlias(before)
    ? expected.reduce((file, word) => changedText(file, word), "exclusions: []\n")
    : changedText(before, change);
  const exclusions = readBack(text, path);
  if (!sameWords(exclusions, expected)) {
    throw new CounterpoiseError(
      "not-written",
      "found exclusions that cannot be changed in place, expected plain YAML",
      {
        place: path,
        hint: "write them as the manual shows, one entry a line, or make the change by hand",
      },
    );
  }
  applyExclusions(campaign, exclusions);
  // as late as can be
  if ((await textOf(path, effects)) !== before) return null;
  const words = { what: "the exclusions", hint: "check that the manifest's folder may be written" };
  await writeWhole(path, text, words, effects);
  return exclusions;
}

/** The id of a run that is not in the campaign. */
export function unknownRun(run: string, ids: readonly string[]): CounterpoiseError {
  const near = likelyName(run, ids);
  return new CounterpoiseError(
    "unknown-run",
    `found the run ${JSON.stringify(run)}, expected the id of a run of the campaign`,
    { hint: near === null ? "the list of runs names them" : `did you mean ${near}?` },
  );
}

/** The words there are to be, in the order of the file. */
function withChange(before: readonly Exclusion[], change: ExclusionChange): ExclusionChange[] {
  const words: ExclusionChange[] = before.map(({ run, include, reason, at }) => ({
    run,
    decision: { include, reason, at: at === null ? null : new Date(Number(at / 1_000_000n)) },
  }));
  const index = words.findIndex(({ run }) => run === change.run);
  if (change.decision === null) return words.filter(({ run }) => run !== change.run);
  if (index < 0) return [...words, change];
  return words.map((word, k) => (k === index ? change : word));
}

function sameWords(found: readonly Exclusion[], expected: readonly ExclusionChange[]): boolean {
  return (
    found.length === expected.length &&
    found.every(({ run, include, reason }, k) => {
      const { run: wanted, decision } = expected[k]!;
      return run === wanted && include === decision?.include && reason === decision.reason;
    })
  );
}

function hasAlias(text: string): boolean {
  let found = false;
  visit(parseDocument(text, { schema: "failsafe" }), {
    Alias: () => {
      found = true;
      return visit.BREAK;
    },
  });
  return found;
}

function changedText(before: string, { run, decision }: ExclusionChange): string {
  // failsafe, as the reader has it: a run called 01 is not the number 1
  const parsed = parseDocument(before, { schema: "failsafe" });
  const document = isMap(parsed.contents) ? parsed : new Document({}, { schema: "failsafe" });
  if (document !== parsed) document.commentBefore = parsed.commentBefore ?? parsed.comment ?? heading;
  const found = document.get("exclusions");
  const entries = isSeq(found) ? found : new YAMLSeq();
  if (entries !== found) document.set("exclusions", entries);
  const index = entries.items.findIndex((item) => isMap(item) && item.get("run") === run);
  if (decision === null) {
    if (index >= 0) entries.items.splice(index, 1);
  } else {
    const { include, reason, at } = decision;
    const word = { run, ...(include ? { include: "true" } : {}), reason, ...(at ? { at: at.toISOString() } : {}) };
    const entry = document.createNode(word) as YAMLMap;
    entry.flow = true;
    if (index >= 0) entries.items[index] = entry;
    else entries.items.push(entry);
  }
  entries.flow = entries.items.length === 0;
  return document.toString({ lineWidth: 0 });
}

/** What was written is read again before it replaces anything: a refused reason is the request's fault, not the file's. */
function readBack(text: string, path: string): readonly Exclusion[] {
  try {
    return parseExclusions(text, path);
  } catch (cause) {
    if (!(cause instanceof ManifestError) || !/expected the reason in words/.test(cause.message)) throw cause;
    throw new CounterpoiseError("reason-refused", "found a reason that is no sentence, expected the reason in words", {
      hint: 'such as "arm jammed in cycle 4"',
      cause,
    });
  }
}
