import { messageReader } from "../messages/messageReader.ts";
import { ros2Part } from "./ros2Part.ts";

/** Reads ROS 2 bags: the folder, or one of its files. Received: the storage's own time of each message. */
export const ros2Reader = messageReader(ros2Part, "ROS 2 bag");
