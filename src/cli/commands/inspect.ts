import { statSync } from "node:fs";
import { dirname, join } from "node:path";
import type { DraftSummary } from "../../contract/inspection.ts";
import { ArgumentError } from "../../foundation/errors.ts";
import { inspectFolder } from "../../pipeline/inspectFolder.ts";
import { inspectLog } from "../../pipeline/inspectLog.ts";
import { wayTo, writeDraft } from "../../pipeline/writeEvaluation.ts";
import { readLeaves } from "../../readers/readLog.ts";
import { folderText } from "../../report/folderText.ts";
import { leavesText } from "../../report/logsText.ts";
import { logText } from "../../report/logText.ts";
import { type CommandInput, isFolder, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/**
 * `counterpoise inspect LOG [TOPIC]`: shows what is in a log, or in a folder of logs, or the numbers of one topic; `--draft` writes
 * the manifest to start from.
 *
 * @returns 0; 1 where a draft was written by which nothing can be evaluated
 * @throws LogError       code `log-unreadable`: it cannot be read or is of no known format; a folder without logs
 * @throws ArgumentError  code `output-refused`: the draft would replace a file; a topic of a folder, or beside --draft
 */
export async function inspect({ flags, values, operands }: CommandInput, terminal: Terminal): Promise<number> {
  const [path, topic] = operands as [string, string?];
  const draft = values.get("draft") ?? null;
  const definitions = values.has("definitions") ? [values.get("definitions")!] : [];
  const print = (found: unknown, text: () => string): void =>
    terminal.out(flags.has("json") ? `${JSON.stringify(found, null, 1)}\n` : text());
  if (topic !== undefined) {
    refuseWithTopic(path, draft);
    const found = await readLeaves(path, topic, { definitions });
    print(found, () => leavesText(found, terminal));
    return 0;
  }
  if (draft !== null) checkDraftPath(draft);
  const toDefinitions = definitions.map((folder) => (draft === null ? folder : wayTo(folder, draft)));
  if (isFolder(path) && !isBag(path)) {
    const progress = progressLine(terminal, { quiet: flags.has("json") });
    try {
      const inspection = await inspectFolder(path, {
        prefix: draft === null ? "" : wayTo(path, draft),
        definitions,
        toDefinitions,
        onProgress: ({ done, total, path: log }) => progress.show(`${done} of ${total} files: ${log}`),
      });
      progress.clear();
      if (draft !== null) await writeDraft(draft, inspection.manifest);
      print(inspection, () => folderText(inspection, { ...terminal, written: draft }));
      return draft === null ? 0 : codeOf(inspection, terminal);
    } finally {
      progress.clear();
    }
  }
  const prefix = draft === null ? "" : wayTo(join(path, ".."), draft);
  const inspection = await inspectLog(path, { prefix, definitions, toDefinitions });
  if (draft !== null) await writeDraft(draft, inspection.manifest);
  print(inspection, () => logText(inspection, terminal));
  if (draft !== null && !flags.has("json")) terminal.out(`\nWritten: ${draft}\n`);
  return draft === null ? 0 : codeOf(inspection, terminal);
}

/** A topic is one of a log, and no draft comes of it. */
function refuseWithTopic(path: string, draft: string | null): void {
  if (draft !== null)
    throw new ArgumentError("option-value", "found --draft beside a topic, expected one of them", {
      hint: "leave the topic out: a draft is of a whole log or folder",
    });
  if (isFolder(path) && !isBag(path))
    throw new ArgumentError("too-many-operands", "found a topic beside a folder of logs, expected that of one log", {
      place: path,
      hint: "name one of its logs",
    });
}

/** A draft by which nothing can be evaluated is a start, and no success. */
function codeOf({ summary }: { readonly summary: DraftSummary }, terminal: Terminal): number {
  if (summary.subjects.length > 0) return 0;
  terminal.err(`counterpoise: nothing can be judged by these logs: ${summary.lacking.join("; ")}\n`);
  return 1;
}

/** The folder of a ROS 2 bag is one log. */
function isBag(folder: string): boolean {
  return statSync(join(folder, "metadata.yaml"), { throwIfNoEntry: false })?.isFile() === true;
}

/**
 * Looks, before the work starts, whether a draft may be written: only to a new file. A manifest holds what only a person knows.
 *
 * @throws ArgumentError  code `output-refused`
 */
function checkDraftPath(path: string): void {
  const refuse = (message: string, hint: string): never => {
    throw new ArgumentError("output-refused", message, { place: path, hint });
  };
  if (path === "-") refuse("found -, expected the name of a file", "leave --draft out: the draft is printed");
  if (isFolder(path)) refuse("found a folder, expected the name of a file", "such as --draft campaign.yaml");
  if (!isFolder(dirname(path))) refuse("found no folder to write to, expected one", "make the folder first");
  if (statSync(path, { throwIfNoEntry: false }) !== undefined)
    refuse(
      "found a file that is there already, expected a new one",
      "choose another name for --draft, or move the file away",
    );
}
