import type { Recording, SignalRequest } from "../../foundation/recording.ts";
import { readParts } from "../messages/readParts.ts";
import { mcapPart } from "./mcapPart.ts";

/**
 * Reads the requested signals of an MCAP file of ROS 1 or ROS 2 messages, or of the parts of one split recording; see
 * `readParts`. Received: the log time.
 *
 * @throws LogError  code `log-unreadable`: a part is no file, no MCAP of version 0, packed in a way that is not known,
 *                   or given twice
 */
export async function readMcap(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: { span?: readonly [number, number] | null } = {},
): Promise<Recording> {
  return readParts(paths, requests, { ...options, open: mcapPart, format: "MCAP" });
}
