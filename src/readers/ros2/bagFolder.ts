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
  const stated = names.includes(metadataName) ? metadataOf(join(folder, metadataName), notes) : null;
  if (!names.includes(metadataName) && there.length > 0)
    notes.push("there is no metadata.yaml: the files are read in the order of their names");
  const paths = [...new Set(stated?.paths ?? [])];
  const within = paths.filter((path) => liesWithin(folder, path));
  if (within.length > 0)
    notes.push(
      `metadata.yaml names ${within.join(", ")}, in a folder within, which is not read: move it beside metadata.yaml`,
    );
  // older versions wrote the folder's own name before each; a file that is listed twice is still one file
  const here = paths.filter((path) => !within.includes(path));
  const named = [...new Set(here.map(nameOf))];
  const listed = named.filter((name) => there.includes(name) && !isPackedTwin(name, named));
  const gone = named.filter((name) => !there.includes(name));
  if (gone.length > 0) notes.push(`metadata.yaml names ${gone.join(", ")}, which is not there`);
  const shared = listed.map((name) => here.filter((path) => nameOf(path) === name)).filter(({ length }) => length > 1);
  for (const several of shared)
    notes.push(`metadata.yaml names ${several.join(" and ")}, of which one file is there, without a folder`);
  const others = there.filter(
    (name) => !named.includes(name) && !isUnpacked(name, listed) && !isPackedTwin(name, there),
  );
  if (stated !== null && listed.length > 0 && others.length > 0)
    notes.push(`metadata.yaml does not name ${others.join(", ")}: read as well`);
  const files = [...listed, ...others];
  const twins = there.filter((name) => !files.includes(name));
  if (twins.length > 0)
    notes.push(`${twins.join(", ")} not read: a file of that name is there packed and unpacked, and is read once`);
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
    packedMessages: stated?.packedMessages ?? false,
    notes,
  };
}

/** bag_2 before bag_10. */
function inOrder(a: string, b: string): number {
  return a.localeCompare(b, "en", { numeric: true });
}

/** The last part of a path as metadata.yaml writes it. */
function nameOf(path: string): string {
  return path.split(/[/\\]/).at(-1)!;
}

/** Whether metadata.yaml names a file that lies in a folder of the bag's own. */
function liesWithin(folder: string, path: string): boolean {
  const steps = path.split(/[/\\]/);
  if (steps.length === 1 || steps.some((step) => step === ".." || step === "" || step === ".")) return false;
  return statSync(join(folder, ...steps), { throwIfNoEntry: false })?.isFile() === true;
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
      paths: paths.filter((each): each is string => typeof each === "string"),
      packedMessages: String(info?.compression_mode ?? "").toLowerCase() === "message",
    };
  } catch (cause) {
    return unread(cause instanceof Error ? cause.message.split("\n")[0]! : String(cause));
  }
}
