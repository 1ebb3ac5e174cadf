import type { LogSurvey, TopicSurvey } from "../../foundation/recording.ts";
import type { LogReader, TopicStamps } from "../LogReader.ts";
import { proposeColumns } from "./proposeColumns.ts";
import { readTabular } from "./readTabular.ts";
import type { Tabular } from "./Tabular.ts";
import { type SignalPart, signalOfRows, timesOf } from "./tableRows.ts";
import { textTable } from "./textTable.ts";
import { timeKind } from "./timeKind.ts";

/** The reader of a format whose logs are tables, from what opens one. */
export function tabularReader(open: (path: string) => Promise<Tabular>): LogReader {
  const opened = async <T>(path: string, use: (table: Tabular) => Promise<T>): Promise<T> => {
    const table = await open(path);
    try {
      return await use(table);
    } finally {
      table.close();
    }
  };
  return {
    read: (paths, requests, { span }) => readTabular(paths, requests, { open, span }),
    survey: (path) => opened(path, surveyTabular),
    stamps: (path, topics) =>
      opened(path, async (table) => ({ topics: await tabularStamps(table, topics), damage: [] })),
  };
}

/**
 * What is in a table: its columns in figures, and the signals that some of them could give. Each column of times that a
 * proposal uses stands as a topic, so that its rate and gaps are measured as those of messages are.
 */
async function surveyTabular(table: Tabular): Promise<LogSurvey> {
  const { rows, columns, notes } = await table.stats();
  const { names, units } = table;
  const proposals = proposeColumns(table, columns);
  const topics: TopicSurvey[] = [];
  for (const name of new Set(proposals.map((proposal) => proposal.columns.t!))) {
    const part = await timePart(table, names.indexOf(name));
    topics.push({
      topic: name,
      type: "time column",
      messages: rows,
      start: timesOf([part])?.start ?? null,
      end: timesOf([part])?.end ?? null,
      couldBe: proposals.filter((proposal) => proposal.columns.t === name).map(({ signal }) => signal),
      known: true,
      children: [],
    });
  }
  return {
    file: table.path,
    format: table.format,
    bytes: table.bytes,
    compression: table.compression,
    start: topics[0]?.start ?? null,
    end: topics[0]?.end ?? null,
    messages: rows,
    topics,
    recovered: notes.length === 0 ? null : notes.join("; "),
    table: {
      ...table.shape,
      rows,
      columns: names.map((name, k) => {
        const { numbers, blank, texts, lowest, highest } = columns[k]!;
        return { name, unit: units[k] ?? null, numbers, blank, texts, lowest, highest };
      }),
      proposals,
    },
  };
}

/** Times of rows, by the name of a column of times. */
async function tabularStamps(table: Tabular, topics: readonly string[]): Promise<ReadonlyMap<string, TopicStamps>> {
  const found = new Map<string, TopicStamps>();
  for (const topic of new Set(topics)) {
    const column = table.names.indexOf(topic);
    if (column < 0) continue;
    const part = await timePart(table, column);
    const start = timesOf([part])?.start ?? 0n;
    const options = { start, span: null, type: "time column", units: {}, notes: [] };
    const { signal } = signalOfRows({ signal: "vehicle_pose", topic }, [part], options);
    found.set(topic, { topic, type: "time column", received: signal.received, stamped: signal.stamped, zeroStamps: 0 });
  }
  return found;
}

async function timePart(table: Tabular, column: number): Promise<SignalPart> {
  const head = { unit: table.units[column] ?? null, name: table.names[column]! };
  const { kind, scale } = timeKind({}, table.sample(column), head);
  const { rows, columns } = await table.read(new Map([[column, kind]]));
  return { rows, time: columns.get(column)!, timeScale: scale, columns: {} };
}

/** Reads tables written as text: cells parted by commas, semicolons, tabs, bars or blanks, under any heading. */
export const tableReader: LogReader = tabularReader(textTable);
