import { statSync } from "node:fs";
import { logFormats } from "../../catalogue/logFormats.ts";
import { LogError } from "../../foundation/errors.ts";
import { mcapPart } from "../mcap/mcapPart.ts";
import { LogFile, type LogPart } from "../messages/LogPart.ts";
import { messageReader } from "../messages/messageReader.ts";
import { joinedPart } from "../messages/timeRange.ts";
import { packedMessages, withPackedMessages } from "../messages/wholeMessages.ts";
import { bagFolder } from "./bagFolder.ts";
import { db3Part } from "./db3Part.ts";
import { unpackedFile } from "./unpackedFile.ts";

/** Reads ROS 2 bags: the folder, or one of its files. Received: the storage's own time of each message. */
export const ros2Reader = messageReader(ros2Part, logFormats.ros2.name);

/**
 * A ROS 2 bag as a part of a log: its folder, with or without metadata.yaml, or one of its files.
 *
 * A file of the folder that cannot be read is reported and left out as long as another can be.
 *
 * @throws LogError  code `log-unreadable`: no bag, or none of its files can be read
 */
async function ros2Part(path: string): Promise<LogPart> {
  if (!statSync(path).isDirectory()) return withPackedMessages(await filePart(path));
  const { files, packedMessages: packed, notes } = bagFolder(path);
  const parts: LogPart[] = [];
  const lost: LogError[] = [];
  for (const file of files) {
    try {
      const part = await filePart(file);
      parts.push(packed ? packedMessages(part) : await withPackedMessages(part));
    } catch (error) {
      if (!(error instanceof LogError)) {
        for (const part of parts) part.close();
        throw error;
      }
      lost.push(error);
    }
  }
  if (parts.length === 0) throw lost[0]!;
  return joinedPart(path, parts, [...notes, ...lost.map(({ place, message }) => `${place}: ${message}`)]);
}

async function filePart(path: string): Promise<LogPart> {
  const start = beginning(path);
  if (start.startsWith("SQLite format 3\0")) return db3Part(path);
  if (start.startsWith("\x89MCAP")) return mcapPart(path);
  if (!/^(\x28\xb5\x2f\xfd|[P-_]\*M\cX)/.test(start))
    throw new LogError(
      "log-unreadable",
      `found ${start === "" ? "an empty file (0 bytes)" : "a file that is neither SQLite nor MCAP"}, expected a file of a ROS 2 bag`,
      { place: path, hint: "the recorder wrote nothing, or the copy failed: copy it again" },
    );
  const file = await unpackedFile(path);
  try {
    const part = await filePart(file.path);
    return {
      ...part,
      path,
      compression: () => ["zstd (file)"],
      close: () => {
        part.close();
        file.remove();
      },
    };
  } catch (error) {
    file.remove();
    // what is wrong is wrong with the packed file; the other is gone
    if (error instanceof LogError)
      throw new LogError(error.code, error.message, { place: path, hint: error.hint, cause: error });
    throw error;
  }
}

function beginning(path: string): string {
  const file = new LogFile(path);
  try {
    return Buffer.from(file.slice(0, 16)).toString("latin1");
  } finally {
    file.close();
  }
}
