import type { FolderInspection, FolderLog } from "../contract/inspection.ts";
import { logsText } from "./logsText.ts";
import { plainText, textStyle, wrapText } from "./text/layout.ts";
import { dropoutText } from "./text/numbers.ts";

/**
 * What is in a folder of logs, for a person who is about to write a manifest: on a screen, what matters first.
 *
 * @param options.width   columns; default 80
 * @param options.written where the manifest was written; null: it was not
 */
export function folderText(
  inspection: FolderInspection,
  options: { width?: number; colour: boolean; written: string | null },
): string {
  const width = Math.max(60, options.width ?? 80);
  const style = textStyle(options.colour);
  const { folder, logs, others, skipped, summary } = inspection;
  const copies = logs.filter(({ same_as }) => same_as !== null).length;
  const unread = logs.filter(({ error }) => error !== null).length;
  const formats = [...new Set(logs.flatMap(({ format }) => (format === null ? [] : [format])))];
  const counts = [
    `${logs.length} log${logs.length === 1 ? "" : "s"} (${formats.join(", ")}${durations(logs)})`,
    ...(copies > 0 ? [`${copies} of them copies of others`] : []),
    ...(unread > 0 ? [`${unread} that cannot be read`] : []),
    ...(others > 0 ? [`${others} other file${others === 1 ? "" : "s"}`] : []),
  ];
  const skips = skipped.slice(0, 4).map(({ path, why }) => `${plainText(path)} (${why})`);
  const isSaid = (recovered: string): boolean => summary.remarks.some(({ words }) => words.includes(recovered));
  const damaged = logs.filter(
    ({ recovered, dropouts }) => (recovered !== null && !isSaid(recovered)) || dropouts !== null,
  );
  const lines = [
    ...wrapText(plainText(folder), width).map(style.heading),
    ...wrapText(`${counts.join(", ")}.`, width),
    ...(skips.length === 0
      ? []
      : wrapText(
          `Not looked into: ${skips.join(", ")}${skipped.length > skips.length ? ` and ${skipped.length - skips.length} more` : ""}.`,
          width,
        ).map(style.doubt)),
    ...logsText(summary, { width, style }),
    ...(damaged.length === 0 ? [] : [style.heading("What was lost")]),
    ...damaged.slice(0, mostDamaged).flatMap((log) => damageLines(log, width).map(style.doubt)),
    ...(damaged.length > mostDamaged ? [`  and ${damaged.length - mostDamaged} more (--json has all)`] : []),
    ...wrapText(
      options.written === null
        ? "--draft campaign.yaml writes the manifest to start from; a log alone is shown with its topics."
        : `Written: ${plainText(options.written)}; fill in what stands between < and >.`,
      width,
    ),
  ];
  return `${lines.join("\n")}\n`;
}

const mostDamaged = 6;

/** ", 38.1 to 39.0 s" */
function durations(logs: readonly FolderLog[]): string {
  const known = logs.flatMap(({ duration }) => (duration === null ? [] : [duration]));
  if (known.length === 0) return "";
  const [least, most] = [Math.min(...known), Math.max(...known)];
  return `, ${least.toFixed(1)}${most - least < 0.05 ? "" : ` to ${most.toFixed(1)}`} s`;
}

function damageLines({ path, recovered, dropouts }: FolderLog, width: number): string[] {
  const words = [
    ...(recovered === null ? [] : [`damaged: ${plainText(recovered)}`]),
    ...(dropouts === null ? [] : [dropoutText(dropouts)]),
  ];
  return wrapText(`${plainText(path)}: ${words.join("; ")}`, width, { first: "  ", rest: "    " });
}
