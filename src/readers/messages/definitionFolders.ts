import { readdirSync, readFileSync, statSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { LogError } from "../../foundation/errors.ts";
import { builtInFields } from "../ros2/builtInDefinition.ts";
import { assembleDefinition, withoutMsg } from "./definition.ts";
import type { LogPart } from "./LogPart.ts";

/** A package's folder lies a few levels deep, and has some tens of types. */
const [deepest, mostFiles] = [6, 5000];

/**
 * The definitions of message types in folders of `.msg` files, by type: `msgs/rig_msgs/msg/Bodies.msg` is rig_msgs/Bodies. A file
 * whose folder is no package serves by its bare name as well.
 *
 * @param folders  folders, or single .msg files
 * @throws LogError  code `log-unreadable`: a folder is not there, or holds no .msg file
 */
export function definitionsIn(folders: readonly string[]): ReadonlyMap<string, string> {
  const found = new Map<string, string>();
  for (const folder of folders) {
    const files = definitionFiles(folder);
    if (files.length === 0)
      throw new LogError("log-unreadable", "found no .msg file, expected the definitions of message types", {
        place: folder,
        hint: "name the folder of the package, such as msgs/ with msgs/rig_msgs/msg/Bodies.msg in it",
      });
    for (const path of files) {
      const name = basename(path, ".msg");
      const within = dirname(path);
      const packageName = basename(basename(within) === "msg" ? dirname(within) : within);
      const text = readFileSync(path, "utf8");
      found.set(`${packageName}/${name}`, text);
      if (!found.has(name)) found.set(name, text);
    }
  }
  return found;
}

/** The .msg files of a folder and the folders in it, in the order of their names. */
export function definitionFiles(path: string, depth = 0): string[] {
  const stats = statSync(path, { throwIfNoEntry: false });
  if (stats === undefined)
    throw new LogError("log-unreadable", "found no such folder, expected one of .msg files", {
      place: path,
      hint: "paths in a manifest are relative to it",
    });
  if (!stats.isDirectory()) return path.endsWith(".msg") ? [path] : [];
  if (depth > deepest) return [];
  const entries = readdirSync(path, { withFileTypes: true }).filter(({ name }) => !name.startsWith("."));
  return entries
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const inner = join(path, entry.name);
      if (entry.isDirectory()) return definitionFiles(inner, depth + 1);
      return entry.name.endsWith(".msg") ? [inner] : [];
    })
    .slice(0, mostFiles);
}

/** A part whose topics have the definitions that its log does not hold, where the folders have them. */
export function withDefinitions(part: LogPart, folders: readonly string[]): LogPart {
  const isWithout = ({ definition, definitionFormat }: { definition: string; definitionFormat: string }): boolean =>
    definition.trim() === "" || definitionFormat !== "msg";
  const connections = [...part.connections];
  if (folders.length === 0 || !connections.some(([, each]) => isWithout(each))) return part;
  const known = definitionsIn(folders);
  const fieldsOf = (type: string): string | null =>
    known.get(type) ?? known.get(type.split("/").at(-1)!) ?? builtInFields(type);
  return {
    ...part,
    connections: new Map(
      connections.map(([id, each]) => {
        const text = isWithout(each) ? assembleDefinition(withoutMsg(each.type), fieldsOf) : "";
        return [id, text === "" ? each : { ...each, definition: text, definitionFormat: "msg" as const }];
      }),
    ),
  };
}
