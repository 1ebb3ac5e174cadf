import { LogError } from "../../foundation/errors.ts";
import { LogFile } from "../messages/LogPart.ts";
import { firstOf, type McapLayout } from "./mcapLayout.ts";
import { readSummary } from "./readSummary.ts";
import { headBytes, isMagic, magic, readHead } from "./records.ts";
import { scanMcap } from "./scanMcap.ts";
import { Pass } from "./scanRecords.ts";

/** The most files that are looked for in one, so that a file full of beginnings ends. */
const mostFiles = 1000;

/** What an MCAP file holds. */
export interface McapContents {
  readonly file: LogFile;
  /** one layout; more where further MCAP files were joined to the first, each with channels of its own */
  readonly layouts: readonly [McapLayout, ...McapLayout[]];
  /** what lies in the file besides, in words */
  readonly notes: readonly string[];
}

/**
 * Opens an MCAP file and reads its summary; where there is none or it cannot be trusted, scans the file instead. What lies
 * behind its closing magic is read on where it is another MCAP file, and reported in any case.
 *
 * Memory: the summary. The caller closes `file`.
 *
 * @throws LogError  code `log-unreadable`: not a file, not MCAP of version 0, cut off within its first record, or packed
 *                   in a way that is not known
 */
export async function openMcap(path: string): Promise<McapContents> {
  const file = new LogFile(path);
  try {
    checkMagic(file);
    const summary = await readSummary(file);
    if (typeof summary === "object" && summary !== null)
      return { file, layouts: [{ file, start: 0, ...summary }], notes: [] };
    return await scanFiles(file, summary);
  } catch (cause) {
    file.close();
    throw cause;
  }
}

/** Scans the file, and others that were joined to it. Their indexes hold places in themselves and are of no use here. */
async function scanFiles(file: LogFile, reason: string | null): Promise<McapContents> {
  const pass = new Pass(file);
  const first = await scanMcap(pass, 0, reason);
  const others: McapLayout[] = [];
  let { end } = first;
  while (others.length < mostFiles && isMagic(file.slice(end, magic.length))) {
    const next = await scanMcap(pass, end, null);
    others.push(next);
    end = next.end;
  }
  const notes: string[] = [];
  if (others.length > 0) {
    const places = others.map(({ start }) => start);
    notes.push(`it is several MCAP files in one: others begin at byte ${firstOf(places, ", ")}, and are read as well`);
  }
  if (end < file.bytes)
    notes.push(`${file.bytes - end} byte(s) lie behind its closing magic, from byte ${end} on, and are not read`);
  return { file, layouts: [first, ...others], notes };
}

function checkMagic(file: LogFile): void {
  const start = file.slice(0, magic.length);
  const version = start[5];
  if (start.length < magic.length || !isMagic(start)) {
    const other = start.length === magic.length && version !== magic[5];
    throw new LogError(
      "log-unreadable",
      other
        ? `found an MCAP file of version "${String.fromCharCode(version!)}", expected "0"`
        : `found ${file.bytes} bytes without a whole MCAP beginning, expected one`,
      {
        place: file.path,
        hint: other
          ? "write it again as version 0"
          : "the file was cut off or changed on its way; copy it again from the recorder, as a binary file",
      },
    );
  }
  if (readHead(file.slice(magic.length, headBytes)) === null)
    throw new LogError("log-unreadable", `found ${file.bytes} bytes without a whole record, expected an MCAP file`, {
      place: file.path,
      hint: "the recorder wrote nothing more, or the copy failed: copy it again",
    });
}
