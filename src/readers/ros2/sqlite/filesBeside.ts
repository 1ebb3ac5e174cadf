import { existsSync } from "node:fs";
import { LogError } from "../../../foundation/errors.ts";
import { LogFile } from "../../messages/LogFile.ts";
import { committedPages } from "./committedPages.ts";
import { originalPages } from "./originalPages.ts";
import type { StandIns } from "./StandIns.ts";

/** A file that lies beside a database and holds pages of it. */
export interface FileBeside extends StandIns {
  readonly name: "log" | "journal";
  readonly file: LogFile;
}

/**
 * The write-ahead log and the rollback journal of a database, in this order: a page of the log counts more, for a log is written upon
 * what the journal restored. A file that is there and cannot be opened is told.
 */
export function filesBeside(path: string, pageSize: number, notes: string[]): FileBeside[] {
  const files: FileBeside[] = [];
  try {
    for (const [ending, name, standIns] of [
      ["-wal", "log", committedPages],
      ["-journal", "journal", originalPages],
    ] as const) {
      const file = openBeside(`${path}${ending}`, notes);
      if (file === null) continue;
      const found = { name, file, ...standIns(file, pageSize) };
      files.push(found);
      if (found.note !== null) notes.push(found.note);
    }
  } catch (error) {
    for (const { file } of files) file.close();
    throw error;
  }
  return files;
}

function openBeside(path: string, notes: string[]): LogFile | null {
  if (!existsSync(path)) return null;
  try {
    return new LogFile(path);
  } catch (error) {
    if (!(error instanceof LogError)) throw error;
    notes.push(`${path}: ${error.message}: what it holds is left out`);
    return null;
  }
}
