import type { LogReader } from "../LogReader.ts";
import type { LogPart } from "./LogPart.ts";
import { partStamps } from "./partStamps.ts";
import { readParts } from "./readParts.ts";
import { surveyPart } from "./surveyPart.ts";

/**
 * The reader of a format whose logs hold ROS messages, from what opens one file of it.
 *
 * @param format  the format's name, for a person
 */
export function messageReader(open: (path: string) => Promise<LogPart>, format: string): LogReader {
  const opened = async <T>(path: string, use: (part: LogPart) => Promise<T>): Promise<T> => {
    const part = await open(path);
    try {
      return await use(part);
    } finally {
      part.close();
    }
  };
  return {
    read: (paths, requests, { span }) => readParts(paths, requests, { open, format, span }),
    survey: (path) => opened(path, (part) => surveyPart(part, format)),
    stamps: (path, topics) => opened(path, (part) => partStamps(part, topics)),
  };
}
