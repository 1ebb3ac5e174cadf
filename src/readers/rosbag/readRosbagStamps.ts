import { type PartStamps, partStamps } from "../messages/partStamps.ts";
import { bagPart } from "./bagPart.ts";

/**
 * Times of the messages of some topics of a ROS 1 bag, in one pass; see `partStamps`.
 *
 * @returns by topic; topics that the bag does not have are left out
 * @throws LogError  code `log-unreadable`: the bag cannot be read
 */
export async function readRosbagStamps(path: string, topics: readonly string[]): Promise<Map<string, PartStamps>> {
  const part = await bagPart(path);
  try {
    return await partStamps(part, topics);
  } finally {
    part.close();
  }
}
