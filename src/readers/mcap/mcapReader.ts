import { logFormats } from "../../catalogue/logFormats.ts";
import { messageReader } from "../messages/messageReader.ts";
import { withPackedMessages } from "../messages/wholeMessages.ts";
import { mcapPart } from "./mcapPart.ts";

/** Reads MCAP files of ROS 1 or ROS 2 messages. Received: the log time. */
export const mcapReader = messageReader(async (path) => withPackedMessages(await mcapPart(path)), logFormats.mcap.name);
