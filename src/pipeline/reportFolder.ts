import { mkdir, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { ArgumentError, CounterpoiseError } from "../foundation/errors.ts";
import { sumOf } from "./wholeText.ts";

/** One file of a report: its place in the folder, what it is, and its text. */
export interface ReportFile {
  readonly path: string;
  readonly what: string;
  readonly text: string;
}

/** The list of a report's files: by it a folder is known as one that this program wrote. */
export const reportList = "report.json";

interface ReportList {
  readonly report: "counterpoise";
  readonly title: string;
  readonly files: readonly {
    readonly path: string;
    readonly what: string;
    readonly bytes: number;
    readonly sha256: string;
  }[];
}

/** The list that goes with some files: sums of what is written, and no date but those of the inputs. */
export function listOf(title: string, files: readonly ReportFile[]): ReportFile {
  const list: ReportList = {
    report: "counterpoise",
    title,
    files: files.map(({ path, what, text }) => ({ path, what, bytes: Buffer.byteLength(text), sha256: sumOf(text) })),
  };
  return { path: reportList, what: "this list", text: `${JSON.stringify(list, null, 1)}\n` };
}

/**
 * Whether a folder may take the report: a new or an empty one, or one that holds an earlier report of the same campaign and nothing
 * that was edited or put beside it.
 *
 * @throws ArgumentError  code `output-refused`, with the file that stands in the way
 */
export async function checkReportFolder(folder: string, title: string): Promise<void> {
  const refuse = (message: string, hint = "choose another folder with --out"): never => {
    throw new ArgumentError("output-refused", message, { place: folder, hint });
  };
  const names = await readdir(folder).catch((cause: NodeJS.ErrnoException): string[] => {
    if (cause.code === "ENOENT") return [];
    return refuse(
      cause.code === "ENOTDIR" ? "found a file, expected a folder" : `the folder cannot be read: ${cause.message}`,
    );
  });
  if (names.length === 0) return;
  if (!names.includes(reportList)) refuse("found a folder that holds other files, expected a new or an empty one");
  const list = await readList(folder);
  if (list === null) return refuse(`found a ${reportList} that this program did not write, expected a new folder`);
  if (list.title !== title)
    refuse(`found the report of another campaign (${JSON.stringify(list.title)}), expected a new or an empty folder`);
  const stray = names.filter(
    (name) => name !== reportList && !list.files.some(({ path }) => path.split("/")[0] === name),
  );
  if (stray.length > 0) refuse(`found ${stray[0]} beside the report, expected nothing that it did not write`);
  for (const { path, sha256 } of list.files) {
    const text = await textAt(folder, path);
    if (text !== null && sumOf(text) !== sha256)
      refuse(
        `found ${path}, which was edited since it was written, expected the report as it was`,
        "keep your edits: move them away, or choose another folder with --out",
      );
  }
}

/** The list in a folder; null where there is none, or none of this program. */
export async function readList(folder: string): Promise<ReportList | null> {
  try {
    const found = JSON.parse(await readFile(join(folder, reportList), "utf8")) as ReportList;
    return found?.report === "counterpoise" && Array.isArray(found.files) ? found : null;
  } catch {
    return null;
  }
}

const textAt = (folder: string, path: string): Promise<string | null> =>
  readFile(join(folder, path), "utf8").catch(() => null);

/**
 * Writes a report whole or not at all: beside its place, then there by one renaming, so that a report that was broken off leaves what
 * was there as it was.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused, in its own words
 */
export async function writeReport(folder: string, files: readonly ReportFile[]): Promise<void> {
  const place = resolve(folder);
  const part = `${place}.part-${process.pid}`;
  try {
    await sweepParts(place);
    for (const { path, text } of files) {
      await mkdir(dirname(join(part, path)), { recursive: true });
      await writeFile(join(part, path), text, { flush: true });
    }
    const old = `${part}-old`;
    const before = await rename(place, old).then(
      () => true,
      () => false,
    );
    try {
      await rename(part, place);
    } catch (cause) {
      if (before) await rename(old, place);
      throw cause;
    }
    await rm(old, { recursive: true, force: true });
  } catch (cause) {
    await rm(part, { recursive: true, force: true }).catch(() => undefined);
    throw new CounterpoiseError(
      "not-written",
      `the report cannot be written: ${cause instanceof Error ? cause.message : String(cause)}`,
      { place: folder, hint: "choose another folder with --out, or make room", cause },
    );
  }
}

/** What reports that were broken off left beside the place. One that was renamed away and not yet replaced is put back. */
async function sweepParts(place: string): Promise<void> {
  const begin = `${basename(place)}.part-`;
  for (const name of await readdir(dirname(place))) {
    const [, pid, old] = name.startsWith(begin) ? (/\.part-(\d+)(-old)?$/.exec(name) ?? []) : [];
    if (pid === undefined || (Number(pid) !== process.pid && isAlive(Number(pid)))) continue;
    const left = join(dirname(place), name);
    if (
      old === undefined ||
      !(await rename(left, place).then(
        () => true,
        () => false,
      ))
    )
      await rm(left, { recursive: true, force: true });
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

/** What differs between a report on the disk and the one that would be written now: a line for each file. */
export async function reportDifferences(folder: string, files: readonly ReportFile[]): Promise<string[]> {
  const list = await readList(folder);
  if (list === null)
    throw new ArgumentError(
      "no-report",
      `found no ${reportList} of this program, expected a folder that report wrote`,
      {
        place: folder,
        hint: "counterpoise report campaign.yaml --out report",
      },
    );
  const lines: string[] = [];
  for (const { path, text } of files) {
    const found = await textAt(folder, path);
    if (found === null) lines.push(`${path}: is not there`);
    else if (found !== text) lines.push(`${path}: differs`);
  }
  for (const { path } of list.files)
    if (path !== reportList && !files.some((file) => file.path === path))
      lines.push(`${path}: would not be written now`);
  return lines;
}
