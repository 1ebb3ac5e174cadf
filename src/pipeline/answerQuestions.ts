import { type OpenQuestion, openQuestions, withAnswers } from "../contract/manifest/openQuestions.ts";
import { ManifestProblemsError, type Problem } from "../contract/manifest/problems.ts";
import { readCampaign } from "../contract/manifest/readCampaign.ts";
import { dotted } from "../contract/manifest/reading.ts";
import type { Path } from "../contract/manifest/textTree.ts";
import { CounterpoiseError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";
import { besideManifest, readWhole, sumOf, writeWhole } from "./wholeText.ts";

/** A manifest's open places, and what its text was when they were found. */
export interface AskedManifest {
  /** SHA-256 of the text; an answer is written only over this */
  readonly stamp: string;
  readonly questions: readonly OpenQuestion[];
}

export interface GivenAnswer {
  readonly path: Path;
  readonly answer: string | readonly string[];
}

/** What a manifest leaves open. @throws CounterpoiseError  code `manifest-unreadable` */
export async function askManifest(manifestPath: string, effects: Effects): Promise<AskedManifest> {
  const text = await readWhole(manifestPath, effects);
  return { stamp: sumOf(text), questions: openQuestions(text) };
}

/**
 * Writes answers into the places that a manifest left open, all of them or none. Nothing else in the file changes.
 *
 * @param stamp  of the text for which the questions were shown: what somebody edited meanwhile is not written over
 * @throws CounterpoiseError  code `manifest-changed` where the text is another by now; `unknown-question` where nothing is open
 *   there; `answer-refused` where the manifest cannot take an answer, each said with its place; `not-written` where the disk refused
 */
export async function answerQuestions(
  manifestPath: string,
  { stamp, answers }: { readonly stamp: string; readonly answers: readonly GivenAnswer[] },
  effects: Effects,
): Promise<AskedManifest> {
  const before = await readWhole(manifestPath, effects);
  if (sumOf(before) !== stamp) throw changed(manifestPath);
  const questions = openQuestions(before);
  const placed = answers.map(({ path, answer }) => {
    const question = questions.find((one) => one.path.join("\0") === path.join("\0"));
    if (question !== undefined) return { question, answer };
    throw new CounterpoiseError("unknown-question", `found an answer to ${dotted(path)}, which is not open`, {
      place: dotted(path),
      hint: "load the page again: it shows what the manifest leaves open now",
    });
  });
  const { text, ranges } = withAnswers(before, placed);
  const problems = await problemsOf(text, manifestPath, effects);
  const refused = placed.flatMap(({ question }, k) =>
    problems
      .filter(({ place }) => isWithin(offsetOf(place, text), ranges[k]!))
      .map(({ message, hint }) => ({ path: question.path, message, hint })),
  );
  if (refused.length > 0) {
    throw new CounterpoiseError(
      "answer-refused",
      refused.map(({ message, hint }) => (hint === null ? message : `${message} (${hint})`)).join("\n"),
      { place: dotted(refused[0]!.path), hint: "nothing was written" },
    );
  }
  // read once more, as late as can be: an editor that saved meanwhile keeps its words
  if (sumOf(await readWhole(manifestPath, effects)) !== stamp) throw changed(manifestPath);
  const words = { what: "the manifest", hint: "check that the file and its folder may be written" };
  await writeWhole(manifestPath, text, words, effects);
  return { stamp: sumOf(text), questions: openQuestions(text) };
}

function changed(manifestPath: string): CounterpoiseError {
  return new CounterpoiseError(
    "manifest-changed",
    "found a manifest that was edited after its questions were shown, expected the text they were asked of",
    {
      place: manifestPath,
      hint: "nothing was written; look at the questions again, your answers are kept on the page",
    },
  );
}

/** What is wrong with a manifest, other than what is still open. */
async function problemsOf(text: string, file: string, effects: Effects): Promise<readonly Problem[]> {
  try {
    const readText = (path: string): Promise<string> => effects.readText(besideManifest(file, path));
    await readCampaign(text, { file, readText, open: true });
    return [];
  } catch (error) {
    if (error instanceof ManifestProblemsError) return error.problems;
    throw error;
  }
}

/** Of `file:line:column`; -1 where the place is in another file or none. */
function offsetOf(place: string, text: string): number {
  const found = /:(\d+):(\d+)$/.exec(place);
  if (found === null) return -1;
  const [line, column] = [Number(found[1]), Number(found[2])];
  const start = text.startsWith("\uFEFF") ? 1 : 0;
  const before = text
    .slice(start)
    .split("\n")
    .slice(0, line - 1);
  return start + before.reduce((sum, each) => sum + each.length + 1, 0) + column - 1;
}

function isWithin(offset: number, [from, to]: readonly [number, number]): boolean {
  return offset >= from && offset < to;
}
