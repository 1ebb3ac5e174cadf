import type { LogSurvey } from "../../foundation/recording.ts";
import { surveyPart } from "../messages/surveyPart.ts";
import { mcapPart } from "./mcapPart.ts";

/**
 * What is in an MCAP file; see `surveyPart`.
 *
 * @throws LogError  code `log-unreadable`: no MCAP file, or one that cannot be read
 */
export async function surveyMcap(path: string): Promise<LogSurvey> {
  const part = await mcapPart(path);
  try {
    return await surveyPart(part, "MCAP");
  } finally {
    part.close();
  }
}
