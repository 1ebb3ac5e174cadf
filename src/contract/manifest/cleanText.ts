import { stopAt } from "./problems.ts";

/** A manifest of 10 000 runs has some 2 MB; beyond this it is not a manifest. */
export const maxManifestCharacters = 4_000_000;

/**
 * The text of a manifest, fit to be parsed: of sensible size, really text, without a byte order mark.
 *
 * @throws ManifestProblemsError  code `manifest-too-large` over 4 000 000 characters; `manifest-not-text` for NUL
 *   characters or the replacement character that decoding leaves where bytes are not UTF-8
 */
export function cleanText(text: string, file: string): string {
  if (text.length > maxManifestCharacters) {
    throw stopAt(
      "manifest-too-large",
      { file, position: { line: 1, column: 1 } },
      `found ${text.length} characters, expected at most ${maxManifestCharacters}`,
      "name the manifest here, not a log",
    );
  }
  const clean = text.startsWith("\uFEFF") ? text.slice(1) : text;
  const bad = clean.search(/[\0\uFFFD]/);
  if (bad >= 0) {
    const before = clean.slice(0, bad).split("\n");
    const position = { line: before.length, column: before[before.length - 1]!.length + 1 };
    const found = clean[bad] === "\0" ? "a NUL character" : "bytes that are not UTF-8";
    throw stopAt(
      "manifest-not-text",
      { file, position },
      `found ${found}, expected text in UTF-8`,
      "save the file as UTF-8, and check that it is no log",
    );
  }
  return clean;
}
