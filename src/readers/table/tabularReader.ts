import type { LogReader } from "../LogReader.ts";
import { readTabular } from "./readTabular.ts";
import { surveyTabular, tabularStamps } from "./surveyTabular.ts";
import type { Tabular } from "./Tabular.ts";

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
