import { type PartStamps, partStamps } from "../messages/partStamps.ts";
import { mcapPart } from "./mcapPart.ts";

/**
 * Times of the messages of some topics of an MCAP file, in one pass; see `partStamps`.
 *
 * @returns by topic; topics that the file does not have are left out
 * @throws LogError  code `log-unreadable`: the file cannot be read
 */
export async function readMcapStamps(path: string, topics: readonly string[]): Promise<Map<string, PartStamps>> {
  const part = await mcapPart(path);
  try {
    return await partStamps(part, topics);
  } finally {
    part.close();
  }
}
