import { statSync } from "node:fs";
import { dirname } from "node:path";
import { ArgumentError } from "../foundation/errors.ts";
import { isFolder } from "./manifestPath.ts";

/**
 * Looks, before the work starts, whether a draft may be written: only to a new file. A manifest holds what only a person knows.
 *
 * @throws ArgumentError  code `output-refused`
 */
export function checkDraftPath(path: string): void {
  const refuse = (message: string, hint: string): never => {
    throw new ArgumentError("output-refused", message, { place: path, hint });
  };
  if (path === "-") refuse("found -, expected the name of a file", "leave --draft out: the draft is printed");
  if (isFolder(path)) refuse("found a folder, expected the name of a file", "such as --draft campaign.yaml");
  if (!isFolder(dirname(path))) refuse("found no folder to write to, expected one", "make the folder first");
  if (statSync(path, { throwIfNoEntry: false }) !== undefined)
    refuse(
      "found a file that is there already, expected a new one",
      "choose another name for --draft, or move the file away",
    );
}
