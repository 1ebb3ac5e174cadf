import type { Recording, SignalRequest } from "../../foundation/recording.ts";
import { readParts } from "../messages/readParts.ts";
import { bagPart } from "./bagPart.ts";

/**
 * Reads the requested signals of a ROS 1 bag, or of the parts of one split recording; see `readParts`.
 *
 * @throws LogError  code `log-unreadable`: a part is no file, no bag of version 2.0, encrypted, packed in a way that is
 *                   not known, or given twice
 */
export async function readRosbag(
  paths: readonly string[],
  requests: readonly SignalRequest[],
  options: { span?: readonly [number, number] | null } = {},
): Promise<Recording> {
  return readParts(paths, requests, { ...options, open: bagPart, format: "ROS 1 bag" });
}
