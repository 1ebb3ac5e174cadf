import type { LogSurvey } from "../foundation/recording.ts";
import { logFormat } from "./logFormat.ts";

/**
 * What is in one log: topics, types, counts, times.
 *
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function surveyLog(path: string): Promise<LogSurvey> {
  if (logFormat(path) === "mcap") {
    const { surveyMcap } = await import("./mcap/surveyMcap.ts");
    return surveyMcap(path);
  }
  const { surveyRosbag } = await import("./rosbag/surveyRosbag.ts");
  return surveyRosbag(path);
}
