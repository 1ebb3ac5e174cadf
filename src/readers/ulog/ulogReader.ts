import type { LogReader } from "../LogReader.ts";
import { readUlog } from "./readUlog.ts";
import { stampsOfUlog, surveyUlog } from "./surveyUlog.ts";

/** Reads ULogs of the PX4 autopilot, versions 0 and 1. Times count from boot. */
export const ulogReader: LogReader = {
  read: readUlog,
  survey: async (path) => surveyUlog(path),
  // what is damaged the survey tells, which reads the log through
  stamps: async (path, topics) => ({ topics: stampsOfUlog(path, topics), damage: [] }),
};
