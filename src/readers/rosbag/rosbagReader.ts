import { messageReader } from "../messages/messageReader.ts";
import { bagPart } from "./bagPart.ts";

/** Reads ROS 1 bags of version 2.0. */
export const rosbagReader = messageReader(bagPart, "ROS 1 bag");
