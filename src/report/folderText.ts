import type { FolderInspection, FolderLog } from "../contract/inspection.ts";
import { dropoutText } from "./text/dropoutText.ts";
import { plainText } from "./text/plainText.ts";
import { textStyle } from "./text/textStyle.ts";
import { wrapText } from "./text/wrapText.ts";

/**
 * What is in a folder of logs, for a person who is about to write a manifest.
 *
 * @param options.width   columns; default 80. The manifest is not wrapped: it is to be copied
 * @param options.written where the manifest was written; null: it is printed
 */
export function folderText(
  inspection: FolderInspection,
  options: { width?: number; colour: boolean; written: string | null },
): string {
  const width = Math.max(60, options.width ?? 80);
  const style = textStyle(options.colour);
  const { folder, logs, others, manifest } = inspection;
  const copies = logs.filter(({ same_as }) => same_as !== null).length;
  const unread = logs.filter(({ error }) => error !== null).length;
  const counts = [
    `${logs.length} log${logs.length === 1 ? "" : "s"}`,
    ...(copies > 0 ? [`${copies} of them copies of others`] : []),
    ...(unread > 0 ? [`${unread} that cannot be read`] : []),
    ...(others > 0 ? [`${others} other file${others === 1 ? "" : "s"}`] : []),
  ];
  const lines = [
    ...wrapText(plainText(folder), width).map(style.heading),
    ...wrapText(`${counts.join(", ")}.`, width),
    "",
    ...logs.flatMap((log) => logLines(log, width, style)),
    "",
    ...(options.written === null
      ? [
          style.heading("A manifest to start from (fill in what stands between < and >)"),
          ...manifest.trimEnd().split("\n"),
        ]
      : [`Written: ${plainText(options.written)}; fill in what stands between < and >.`]),
  ];
  return `${lines.join("\n")}\n`;
}

function logLines(log: FolderLog, width: number, style: ReturnType<typeof textStyle>): string[] {
  const facts = (text: string): string[] => wrapText(text, width, { first: "    ", rest: "      " });
  const head = wrapText(plainText(log.path), width, { first: "  ", rest: "    " });
  if (log.error !== null) return [...head, ...facts(`cannot be read: ${plainText(log.error)}`).map(style.doubt)];
  const signals = log.signals.map(
    ({ signal, rate }) => `${signal}${rate === null ? "" : ` ${Number(rate.toPrecision(3))}/s`}`,
  );
  return [
    ...head,
    ...facts(
      [
        log.format ?? "",
        log.duration === null ? "no message" : `${log.duration.toFixed(1)} s`,
        signals.length === 0 ? "none of the signals" : signals.join(", "),
      ].join("; "),
    ),
    ...(log.same_as === null
      ? []
      : facts(`the same bytes as ${plainText(log.same_as)}: a copy is no second flight`).map(style.doubt)),
    ...(log.recovered === null ? [] : facts(`damaged: ${plainText(log.recovered)}`).map(style.doubt)),
    ...(log.dropouts === null ? [] : facts(dropoutText(log.dropouts))),
  ];
}
