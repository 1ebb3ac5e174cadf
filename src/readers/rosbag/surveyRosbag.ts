import type { LogSurvey } from "../../foundation/recording.ts";
import { surveyPart } from "../messages/surveyPart.ts";
import { bagPart } from "./bagPart.ts";

/**
 * What is in a ROS 1 bag; see `surveyPart`.
 *
 * @throws LogError  code `log-unreadable`: no bag, or one that cannot be read
 */
export async function surveyRosbag(path: string): Promise<LogSurvey> {
  const part = await bagPart(path);
  try {
    return await surveyPart(part, "ROS 1 bag");
  } finally {
    part.close();
  }
}
