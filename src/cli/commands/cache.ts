import { existsSync } from "node:fs";
import { ManifestError } from "../../foundation/errors.ts";
import { keptFolder } from "../../pipeline/kept/keeping.ts";
import { clear, sizeOf } from "../../pipeline/kept/records.ts";
import { plainText } from "../../report/text/layout.ts";
import { type CommandInput, keepingWish, manifestPath, type Terminal } from "../Command.ts";

/**
 * `counterpoise cache MANIFEST`: where measurements are kept and how much of them; with `--clear` takes them away. The looks lie
 * elsewhere and stay.
 *
 * @returns 0
 * @throws ManifestError  code `manifest-missing`
 */
export async function cache(input: CommandInput, terminal: Terminal): Promise<number> {
  const manifest = manifestPath(input.operands[0]!);
  if (!existsSync(manifest))
    throw new ManifestError("manifest-missing", "found no such file, expected a campaign manifest", {
      place: manifest,
      hint: "measurements are kept beside a manifest: name it, or the folder that holds it",
    });
  const folder = keptFolder(manifest, keepingWish(input));
  const { runs, bytes } = await sizeOf(folder);
  const said = `${runs} measurement${runs === 1 ? "" : "s"}, ${(bytes / 1e6).toFixed(1)} MB`;
  if (!input.flags.has("clear")) terminal.out(`Kept in ${plainText(folder)}: ${said}.\n`);
  else {
    await clear(folder);
    terminal.out(`Cleared: ${said} in ${plainText(folder)}.\n`);
  }
  return 0;
}
