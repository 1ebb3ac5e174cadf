import { logFormats } from "../../catalogue/logFormats.ts";
import { messageReader } from "../messages/messageReader.ts";
import { bagPart } from "./bagPart.ts";

/** Reads ROS 1 bags of version 2.0. */
export const rosbagReader = messageReader(bagPart, logFormats.rosbag1.name);
