import type { LogInspection, TopicInspection } from "../contract/inspection.ts";
import { logsText } from "./logsText.ts";
import { plainText, type TextFrame, textStyle, wrapText } from "./text/layout.ts";
import { dropoutText } from "./text/numbers.ts";

/**
 * What is in a log, for a person who is about to write a manifest.
 *
 * @param options.width   columns; default 80. The manifest fragment is not wrapped: it is to be copied
 * @param options.colour  emphasis by ANSI sequences
 */
export function logText(inspection: LogInspection, options: { width?: number; colour: boolean }): string {
  const frame: TextFrame = { width: Math.max(60, options.width ?? 80), style: textStyle(options.colour) };
  const sections = [
    [...head(inspection, frame), ...logsText(inspection.summary, frame)],
    inspection.points === null ? topicLines(inspection, frame) : markerLines(inspection.points, frame),
    ...(inspection.table === null ? [] : [columnLines(inspection.table, frame)]),
    clockLines(inspection, frame),
    [
      frame.style.heading("A manifest to start from (fill in what stands between < and >)"),
      ...inspection.manifest.trimEnd().split("\n"),
    ],
  ].filter((lines) => lines.length > 0);
  return `${sections.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

function head(
  {
    file,
    format,
    bytes,
    compression,
    start,
    duration,
    messages,
    recovered,
    dropouts,
    parameters,
    table,
  }: LogInspection,
  frame: TextFrame,
): string[] {
  const { width, style } = frame;
  const packed = compression.length === 0 ? "" : `, chunks: ${compression.map(plainText).join(", ")}`;
  const lines = [
    ...wrapText(plainText(file), width).map(style.heading),
    ...wrapText(`${format}, ${sizeText(bytes)}${packed}`, width),
    ...wrapText(
      start === null || duration === null
        ? table === null
          ? "No message."
          : `${messages} rows.`
        : `${table === null ? countText(messages) : `${messages} rows`} in ${duration.toFixed(2)} s from ${instantText(BigInt(start))}.`,
      width,
    ),
  ];
  if (parameters !== null) lines.push(...wrapText(`${parameters} settings of the autopilot.`, width));
  if (recovered !== null)
    lines.push(...wrapText(`Damaged: ${plainText(recovered)}`, width, { first: "", rest: "  " }).map(style.doubt));
  if (dropouts !== null) lines.push(...wrapText(`${sentence(dropoutText(dropouts))}.`, width));
  return lines;
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
}

function topicLines({ topics, table }: LogInspection, frame: TextFrame): string[] {
  if (topics.length === 0) return [table === null ? "No topic." : "No column seems to be the time."];
  // what could be a signal first and whole; of the others their names
  const [able, others] = [true, false].map((is) => topics.filter(({ could_be }) => could_be.length > 0 === is));
  return [
    frame.style.heading(table === null ? "Topics" : "Times"),
    ...able!.flatMap((topic) => oneTopic(topic, frame)),
    ...(others!.length === 0
      ? []
      : [
          frame.style.heading("Others (a signal through fields, if they hold one)"),
          ...others!.flatMap(({ topic, type, messages }) =>
            wrapText(`${plainText(topic)} (${plainText(type)}, ${messages})`, frame.width, {
              first: "  ",
              rest: "    ",
            }),
          ),
        ]),
  ];
}

function oneTopic(found: TopicInspection, { width }: TextFrame): string[] {
  const { topic, type, messages, timing, stamps, could_be: couldBe, children } = found;
  const facts = (text: string): string[] => wrapText(text, width, { first: "    ", rest: "      " });
  const lines = [
    ...wrapText(plainText(topic), width, { first: "  ", rest: "    " }),
    ...facts(
      `${plainText(type)}, ${countText(messages)}${messages < 2 || timing?.median_interval == null ? "" : `, ${rateText(timing.median_interval)}`}`,
    ),
  ];
  lines.push(...facts(`could be: ${couldBe.join(", ")}`));
  if (found.bodies !== undefined) lines.push(...facts(`bodies: ${found.bodies.map(plainText).join(", ")}`));
  if (children.length > 0) lines.push(...facts(`child frames: ${children.map(plainText).join(", ")}`));
  if (timing !== null && timing.gaps > 0)
    lines.push(
      ...facts(
        `gaps: ${timing.gaps} over ${timeText(timing.gap_over!)}, the longest ${timeText(timing.longest_gap!)} at ${timing.longest_gap_at!.toFixed(2)} s`,
      ),
    );
  if (messages > 0) lines.push(...facts(`stamps: ${stampText(found)}`));
  // a table knows one time only
  if (stamps?.delay_median != null && type !== "time column")
    lines.push(
      ...facts(
        `receipt minus stamp: median ${timeText(stamps.delay_median)}, 90 % within ${timeText(stamps.delay_spread!)}${stamps.delay_growth === null ? "" : `, from start to end ${stamps.delay_growth < 0 ? "" : "+"}${timeText(stamps.delay_growth)}`}`,
      ),
    );
  if (found.published_before !== null)
    lines.push(...facts(`receipt minus publication: median ${timeText(found.published_before)}`));
  return lines;
}

function stampText({ stamps, messages }: TopicInspection): string {
  if (stamps === null) return "none, receipt time only";
  if (stamps.zero === messages) return "all zero, receipt time only";
  const faults = [
    [stamps.zero, "zero"],
    [stamps.backward, "backward"],
    [stamps.duplicate, "twice"],
  ] as const;
  const stated = faults.filter(([count]) => count > 0).map(([count, what]) => `${count} ${what}`);
  const kind = stamps.epoch === "date" ? "dates" : "time since some start";
  return `${kind}${stated.length === 0 ? "" : `; ${stated.join(", ")}`}`;
}

/** How the table is written, its columns, and what some of them could be. */
function columnLines(table: NonNullable<LogInspection["table"]>, { width, style }: TextFrame): string[] {
  const { separator, decimal, preamble, headingLines, rows, columns, proposals } = table;
  const written =
    separator === "none"
      ? `${rows} rows`
      : `${rows} rows, cells parted by ${separator}, decimal ${decimal}, ${headingLines} line(s) of heading${preamble === 0 ? "" : ` after ${preamble} other(s)`}`;
  const facts = (text: string): string[] => wrapText(text, width, { first: "    ", rest: "      " });
  return [
    style.heading("Columns"),
    ...wrapText(written, width, { first: "  ", rest: "    " }),
    ...columns.flatMap(({ name, unit, numbers, blank, texts, lowest, highest }, k) => {
      const range =
        lowest === null || highest === null ? "no number" : `${numberText(lowest)} to ${numberText(highest)}`;
      const lost = [blank > 0 ? `${blank} blank` : "", texts > 0 ? `${texts} text` : ""].filter((word) => word !== "");
      const known = unit === null || name.includes(unit) ? "" : ` [${plainText(unit)}]`;
      return wrapText(
        `#${k + 1} ${plainText(name)}${known}: ${range}${numbers === rows || lost.length === 0 ? "" : `, ${lost.join(", ")}`}`,
        width,
        { first: "  ", rest: "    " },
      );
    }),
    ...(proposals.length === 0 ? [] : [style.heading("Columns that could be signals (a guess by their names)")]),
    ...proposals.flatMap(({ signal, columns: roles, remark }) =>
      facts(
        `${signal}: ${Object.entries(roles)
          .map(([role, name]) => `${role} = ${plainText(name)}`)
          .join(", ")}${remark === undefined ? "" : ` (${remark})`}`,
      ),
    ),
  ];
}

/** Markers of a point file, and which keep their distances. */
function markerLines(points: NonNullable<LogInspection["points"]>, { width, style }: TextFrame): string[] {
  const { unit, rate, markers, bodies, notes } = points;
  const lines = (text: string): string[] => wrapText(text, width, { first: "  ", rest: "    " });
  return [
    style.heading("Markers"),
    ...lines(
      `${Number(rate.toPrecision(6))} frames a second, lengths in ${unit === "" ? "a unit it does not say" : plainText(unit)}`,
    ),
    ...notes.flatMap((note) => lines(plainText(note)).map(style.doubt)),
    ...markers.flatMap(({ label, measured, modelled, missing }) =>
      lines(`${plainText(label)}: measured ${measured}, filled in ${modelled}, missing ${missing}`),
    ),
    ...(bodies.length === 0 ? [] : [style.heading("Markers that keep their distances (bodies, perhaps)")]),
    ...bodies.flatMap(({ markers: members, residual }) =>
      lines(`${Object.keys(members).map(plainText).join(", ")}: to ${(1e3 * residual).toFixed(2)} mm`),
    ),
  ];
}

function numberText(value: number): string {
  return String(Number(value.toPrecision(value > 1e8 ? 13 : 5)));
}

function clockLines({ clocks }: LogInspection, { width, style }: TextFrame): string[] {
  if (clocks.length === 0) return [];
  return [
    style.heading("Clocks (a guess: topics stamped equally far from receipt, to 50 ms)"),
    ...clocks.flatMap(({ name, topics, delay_median, epoch }) =>
      wrapText(
        `${name}, stamped ${timeText(Math.abs(delay_median))} ${delay_median < 0 ? "after" : "before"} receipt${epoch === "date" ? "" : ", time since some start"}: ${topics.map(plainText).join(", ")}`,
        width,
        { first: "  ", rest: "    " },
      ),
    ),
  ];
}

function countText(messages: number): string {
  return `${messages} message${messages === 1 ? "" : "s"}`;
}

function rateText(interval: number): string {
  return `${Number((1 / interval).toPrecision(4))} a second`;
}

/** Milliseconds below ten seconds, else seconds. */
function timeText(seconds: number): string {
  const size = Math.abs(seconds);
  if (size < 10) return `${(seconds * 1000).toFixed(size < 0.1 ? 2 : 0)} ms`.replace(/^-(0\.?0*) /, "$1 ");
  return `${seconds.toFixed(1)} s`;
}

function sizeText(bytes: number): string {
  return bytes < 1_000_000 ? `${(bytes / 1000).toFixed(1)} kB` : `${(bytes / 1_000_000).toFixed(1)} MB`;
}

/** A date where it can be one, else seconds since the clock's start. */
function instantText(nanoseconds: bigint): string {
  const milliseconds = Number(nanoseconds / 1_000_000n);
  return milliseconds >= 1e12 && milliseconds < 8.64e15
    ? new Date(milliseconds).toISOString()
    : `${(milliseconds / 1000).toFixed(3)} s on the recorder's clock`;
}
