import { mkdir, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { basename, join } from "node:path";
import { parquetMetadata } from "hyparquet";
import { parquetWriteBuffer } from "hyparquet-writer";
import { ArgumentError, CounterpoiseError } from "../../foundation/errors.ts";
import { diskEffects } from "../../pipeline/effects.ts";
import { fingerprintOf } from "../../pipeline/wholeText.ts";
import { type ArchiveTable, archiveTables, type Collected } from "../../report/paper/archiveTables.ts";
import { plainText } from "../../report/text/layout.ts";
import { type CommandInput, isFolder, type Terminal } from "../Command.ts";
import { readEvaluation } from "./diff.ts";

const evaluationName = "evaluation.json";

/**
 * `counterpoise collect EVALUATION... --out DIR`: gathers runs, cells and moving moments of any number of evaluations into Parquet
 * tables. Reads the evaluations alone, and counts no look: their answers were seen. One that is given twice is gathered once.
 *
 * @returns 0
 * @throws ArgumentError  no `--out`, a file that is no evaluation, or a folder that holds what this command did not write
 * @throws CounterpoiseError  code `not-written`: the disk refused; no table was changed
 */
export async function collect({ operands, values }: CommandInput, terminal: Terminal): Promise<number> {
  const out = values.get("out");
  if (out === undefined)
    throw new ArgumentError("missing-option", "found no --out, expected the folder to write to", {
      hint: "counterpoise collect spring/evaluation.json autumn/evaluation.json --out archive",
    });
  const found = new Map<string, Collected>();
  let twice = 0;
  for (const operand of operands) {
    const file = isFolder(operand) ? join(operand, evaluationName) : operand;
    const evaluation = await readEvaluation(file, diskEffects);
    const sum = fingerprintOf(JSON.stringify(evaluation));
    if (found.has(sum)) twice++;
    else found.set(sum, { file: basename(file), sum, evaluation });
  }
  const tables = archiveTables([...found.values()]);
  await checkFolder(out, tables);
  for (const remark of sharedLogs([...found.values()])) terminal.err(`${plainText(remark)}\n`);
  await writeTables(out, tables);
  const rows = tables.map(({ name, columns }) => `${name}.parquet ${columns[0]!.data.length} rows`).join(", ");
  terminal.out(
    `Written: ${plainText(out)}: ${rows}, of ${found.size} ${found.size === 1 ? "evaluation" : "evaluations"}${twice > 0 ? `; ${twice} given twice` : ""}.\n`,
  );
  return 0;
}

/** A sentence for each evaluation that judges a log that an earlier one judges too: its runs stand in the tables twice. */
function sharedLogs(all: readonly Collected[]): string[] {
  const first = new Map<string, Collected>();
  const remarks = new Set<string>();
  for (const one of all) {
    const logs = new Set(one.evaluation.runs.flatMap(({ log }) => log));
    for (const { path, sha256 } of one.evaluation.inputs) {
      if (!logs.has(path)) continue;
      const before = first.get(sha256) ?? one;
      first.set(sha256, before);
      if (before !== one)
        remarks.add(
          `Evaluations ${before.sum} and ${one.sum} judge the same logs: ask for one of them, or runs count twice.`,
        );
    }
  }
  return [...remarks];
}

/** The key in the notes of a Parquet file by which it is known as a table of an archive. */
const archiveKey = "counterpoise.archive";

/** Whether some bytes are a table that this command wrote. */
function isOurs(bytes: Uint8Array): boolean {
  try {
    const { key_value_metadata: notes } = parquetMetadata(new Uint8Array(bytes).buffer);
    return notes?.some(({ key }) => key === archiveKey) ?? false;
  } catch {
    return false;
  }
}

const fileOf = ({ name }: ArchiveTable): string => `${name}.parquet`;

/** A new or an empty folder, or one that holds these tables alone. */
async function checkFolder(folder: string, tables: readonly ArchiveTable[]): Promise<void> {
  const names = await readdir(folder).catch((cause: NodeJS.ErrnoException): string[] => {
    if (cause.code === "ENOENT") return [];
    throw new ArgumentError("output-refused", "found no folder that can be read, expected a new or an empty one", {
      place: folder,
      hint: "choose another folder with --out",
      cause,
    });
  });
  const own = tables.map(fileOf);
  const stray = names.find((name) => !own.includes(name));
  const strange =
    stray ??
    (await firstOf(names, async (name) => !isOurs(await readFile(join(folder, name)).catch(() => Buffer.of()))));
  if (strange !== undefined)
    throw new ArgumentError("output-refused", `found ${strange}, expected a new or an empty folder, or an archive`, {
      place: folder,
      hint: "choose another folder with --out",
    });
}

async function firstOf(names: readonly string[], is: (name: string) => Promise<boolean>): Promise<string | undefined> {
  for (const name of names) if (await is(name)) return name;
  return undefined;
}

/** All of them are written beside their places before the first is put there. */
async function writeTables(folder: string, tables: readonly ArchiveTable[]): Promise<void> {
  const parts: [string, string][] = [];
  try {
    await mkdir(folder, { recursive: true });
    for (const table of tables) {
      const place = join(folder, fileOf(table));
      const part = `${place}.part`;
      parts.push([part, place]);
      const columnData = table.columns.map(({ name, type, data }) => ({ name, type, data: [...data], nullable: true }));
      const kvMetadata = [{ key: archiveKey, value: table.name }];
      await writeFile(part, new Uint8Array(parquetWriteBuffer({ columnData, kvMetadata })), { flush: true });
    }
    for (const [part, place] of parts) await rename(part, place);
  } catch (cause) {
    for (const [part] of parts) await rm(part, { force: true });
    throw new CounterpoiseError(
      "not-written",
      `the archive cannot be written: ${cause instanceof Error ? cause.message : String(cause)}`,
      { place: folder, hint: "choose another folder with --out, or make room", cause },
    );
  }
}
