import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { parse } from "yaml";
import { LogError } from "../../foundation/errors.ts";
import { cannotRead } from "../logFormat.ts";

/** The files of a bag's folder, in the order in which they were recorded. */
export interface BagFolder {
  readonly files: readonly string[];
  /** whether each message is packed by itself */
  readonly packedMessages: boolean;
  readonly notes: readonly string[];
}

const storage = /\.(db3|mcap)(\.zstd)?$/;
const metadataName = "metadata.yaml";
/** Metadata of thousands of topics have a megabyte. */
const largestMetadata = 16 * 1024 * 1024;

/**
 * Lists what a bag's folder holds: by its metadata.yaml where that can be read, and whatever else lies there.
 *
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no file of a bag
 */
export function bagFolder(folder: string): BagFolder {
  let names: string[];
  try {
    names = readdirSync(folder).sort(inOrder);
  } catch (cause) {
    throw cannotRead(folder, cause);
  }
  const there = names.filter((name) => storage.test(name));
  const notes: string[] = [];
  const told = names.includes(metadataName) ? metadataOf(join(folder, metadataName), notes) : null;
  if (!names.includes(metadataName) && there.length > 0)
    notes.push("there is no metadata.yaml: the files are read in the order of their names");
  // a file that is listed twice, or in two folders of one, is still one file
  const named = [...new Set(told?.paths ?? [])];
  const listed = named.filter((name) => there.includes(name) && !isPackedTwin(name, named));
  const gone = (told?.paths ?? []).filter((name) => !there.includes(name));
  if (gone.length > 0) notes.push(`metadata.yaml names ${gone.join(", ")}, which is not there`);
  const others = there.filter(
    (name) => !named.includes(name) && !isUnpacked(name, listed) && !isPackedTwin(name, there),
  );
  if (told !== null && listed.length > 0 && others.length > 0)
    notes.push(`metadata.yaml does not name ${others.join(", ")}: read as well`);
  const files = [...listed, ...others];
  if (files.length === 0)
    throw new LogError(
      "log-unreadable",
      `found a folder without a file of a ROS 2 bag (${names.slice(0, 5).join(", ") || "it is empty"}), expected .db3 or .mcap files`,
      {
        place: folder,
        hint: "name the folder that holds metadata.yaml, or a log file itself; several parts of a log are given as a list",
      },
    );
  return {
    files: files.map((name) => join(folder, name)),
    packedMessages: told?.packedMessages ?? false,
    notes,
  };
}

/** bag_2 before bag_10. */
function inOrder(a: string, b: string): number {
  return a.localeCompare(b, "en", { numeric: true });
}

/** A packed file whose unpacked one is there as well. */
function isPackedTwin(name: string, among: readonly string[]): boolean {
  return name.endsWith(".zstd") && among.includes(name.slice(0, -".zstd".length));
}

/** A packed file that was also unpacked beside itself is one file. */
function isUnpacked(name: string, listed: readonly string[]): boolean {
  return listed.includes(`${name}.zstd`) || listed.includes(name.replace(/\.zstd$/, ""));
}

function metadataOf(path: string, notes: string[]): { paths: readonly string[]; packedMessages: boolean } | null {
  const unread = (why: string): null => {
    notes.push(`metadata.yaml cannot be read (${why}): the files are read in the order of their names`);
    return null;
  };
  try {
    const { size } = statSync(path);
    if (size > largestMetadata) return unread(`it has ${size} bytes`);
    const found: unknown = parse(readFileSync(path, "utf8"), { maxAliasCount: 0, logLevel: "silent" });
    const info = (found as { rosbag2_bagfile_information?: Record<string, unknown> } | null)
      ?.rosbag2_bagfile_information;
    const paths = info?.relative_file_paths;
    if (!Array.isArray(paths)) return unread("it lists no files");
    return {
      // older versions wrote the folder's own name before each
      paths: paths.filter((each) => typeof each === "string").map((each: string) => each.split(/[/\\]/).at(-1)!),
      packedMessages: String(info?.compression_mode ?? "").toLowerCase() === "message",
    };
  } catch (cause) {
    return unread(cause instanceof Error ? cause.message.split("\n")[0]! : String(cause));
  }
}
