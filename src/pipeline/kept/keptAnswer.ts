import { readdir } from "node:fs/promises";
import type { Effects } from "../effects.ts";
import { isSettled } from "../fileStamp.ts";
import { fingerprintOf, sumOf } from "../wholeText.ts";
import type { Records } from "./records.ts";

/** What SQLite keeps beside a database, and its reader looks into. */
export const besideLogs = ["-wal", "-journal"];

/** One thing that the disk was asked, and its answer. */
type Fact = readonly [kind: "text" | "size" | "files" | "stamp", path: string, answer: string | number | null];

interface KeptAnswer {
  readonly facts: readonly Fact[];
  readonly json: string;
}

/**
 * Effects that note whatever a journey learns from the disk: its answer is the same as long as the disk answers the same.
 *
 * @param record  path of the record of looks, which the journey itself writes: what it held at the end counts
 * @returns effects, and `facts`: null where the answer rests on something that was not at rest, or that nobody could ask again
 */
export function witnessed(
  effects: Effects,
  record: string,
): { readonly effects: Effects; readonly facts: () => readonly Fact[] | null } {
  const known = new Map<string, Fact>();
  let isSound = true;
  const note = (...fact: Fact): void => {
    const key = `${fact[0]} ${fact[1]}`;
    const before = known.get(key);
    if (before !== undefined && before[2] !== fact[2] && fact[1] !== record) isSound = false;
    if (before === undefined && fact[0] === "stamp" && !isSettled(String(fact[2]), effects.now().getTime()))
      isSound = false;
    // folders of definitions may get another file, which nobody asked for
    if (fact[1].endsWith(".msg")) isSound = false;
    known.set(key, fact);
  };
  const stamp: Effects["stamp"] = async (path) => {
    const found = await effects.stamp(path);
    note("stamp", path, found);
    return found;
  };
  const size: Effects["size"] = async (path) => {
    const found = await effects.size(path);
    note("size", path, found);
    return found;
  };
  const filesOf: Effects["filesOf"] = async (path) => {
    const found = await effects.filesOf(path);
    note("files", path, found.join("\0"));
    if (found.length === 1 && found[0] === path) return found;
    await stamp(path);
    if (await holdsMore(path, found.length)) isSound = false;
    return found;
  };
  return {
    facts: () => (isSound ? [...known.values()] : null),
    effects: {
      ...effects,
      stamp,
      size,
      filesOf,
      readText: async (path) => {
        try {
          const text = await effects.readText(path);
          note("text", path, sumOf(text));
          return text;
        } catch (error) {
          isSound = false;
          throw error;
        }
      },
      sha256: async (path) => {
        await stamp(path);
        return effects.sha256(path);
      },
      readLog: async (paths, requests, options) => {
        if ((options?.definitions ?? []).length > 0) isSound = false;
        const files = (await Promise.all(paths.map(filesOf))).flat();
        await Promise.all(
          files.flatMap((file) => [stamp(file), ...besideLogs.map((ending) => size(`${file}${ending}`))]),
        );
        return effects.readLog(paths, requests, options);
      },
    },
  };
}

/** Whether a log's folder holds hidden files or folders within, of which a reader may know and `filesOf` does not. */
export async function holdsMore(folder: string, files: number): Promise<boolean> {
  return (await readdir(folder).catch(() => [])).length !== files;
}

/** Keeps the evaluation that the next journey would come to, unless it rests on a log that could not be read. */
export async function keepAnswer(
  { records, program }: { readonly records: Records; readonly program: string },
  manifestPath: string,
  facts: readonly Fact[] | null,
  json: string,
): Promise<boolean> {
  if (facts === null || json.includes('"log-unreadable"')) return false;
  return records.write(nameOf(program, manifestPath), { facts, json } satisfies KeptAnswer);
}

/** The text of evaluation.json as the journey would write it; null where the disk does not answer as it did, and in any doubt. */
export async function findAnswer(
  { records, program }: { readonly records: Records; readonly program: string },
  manifestPath: string,
  effects: Effects,
): Promise<string | null> {
  const kept = (await records.read(nameOf(program, manifestPath))) as KeptAnswer | null;
  if (kept === null) return null;
  const holds = await Promise.all(
    kept.facts.map(
      async ([kind, path, answer]) => (await askedAgain(kind, path, effects).catch(() => undefined)) === answer,
    ),
  );
  return holds.every((each) => each) ? kept.json : null;
}

async function askedAgain(kind: Fact[0], path: string, effects: Effects): Promise<Fact[2]> {
  if (kind === "text") return sumOf(await effects.readText(path));
  if (kind === "size") return effects.size(path);
  return kind === "stamp" ? effects.stamp(path) : (await effects.filesOf(path)).join("\0");
}

const nameOf = (program: string, manifestPath: string): string =>
  `answer-${fingerprintOf(JSON.stringify([program, manifestPath]))}`;
