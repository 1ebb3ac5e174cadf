import { mkdir, rm, writeFile } from "node:fs/promises";
import { dirname, join, relative, resolve } from "node:path";
import { jsonSchemaOf } from "../contract/jsonSchemas.ts";
import { CounterpoiseError } from "../foundation/errors.ts";

/** The way from a manifest to the folder of its logs, as a manifest writes paths; "" where it lies in it. */
export function wayTo(logFolder: string, manifest: string): string {
  return relative(resolve(dirname(manifest)), resolve(logFolder)).replaceAll("\\", "/");
}

/** Where the schema lies that editors complete a manifest by, from the manifest on: what the program keeps beside it for itself. */
const schemaPath = ".counterpoise/manifest.schema.json";

/**
 * Writes the draft of a manifest to a new file, and the schema beside it that its first line names: editors that know YAML then
 * complete its keys and say what they mean, without network.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused, or the file is there already
 */
export async function writeDraft(path: string, manifest: string): Promise<void> {
  let isOurs = false;
  try {
    await writeFile(path, `# yaml-language-server: $schema=${schemaPath}\n${manifest}`, { flag: "wx" });
    isOurs = true;
    const schema = join(dirname(path), schemaPath);
    await mkdir(dirname(schema), { recursive: true });
    await writeFile(schema, `${JSON.stringify(jsonSchemaOf("manifest"), null, 1)}\n`);
  } catch (cause) {
    // a draft without the schema that it names is half written
    if (isOurs) await rm(path, { force: true });
    throw new CounterpoiseError("not-written", `the draft cannot be written: ${(cause as Error).message}`, {
      place: path,
      hint: "choose another name or folder for --draft",
      cause,
    });
  }
}
