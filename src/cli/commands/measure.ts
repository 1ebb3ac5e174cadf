import { ArgumentError } from "../../foundation/errors.ts";
import { diskEffects } from "../../pipeline/effects.ts";
import { keptOf } from "../../pipeline/kept/keeping.ts";
import { keptSums } from "../../pipeline/kept/keptSums.ts";
import { measureShare, type Share } from "../../pipeline/kept/measureShare.ts";
import { plainText } from "../../report/text/layout.ts";
import { type CommandInput, keepingWish, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/**
 * `counterpoise measure MANIFEST --part 3/16`: measures a share of the runs and keeps them, for `evaluate` to find.
 *
 * @returns 0
 * @throws ArgumentError  a part that is none, or a program that keeps nothing
 * @throws ManifestError  the manifest is at fault
 */
export async function measure(input: CommandInput, terminal: Terminal): Promise<number> {
  const manifest = manifestPath(input.operands[0]!);
  const share = shareOf(input.values.get("part") ?? "1/1");
  const wish = keepingWish(input);
  const kept = keptOf(manifest, wish);
  if (kept === null)
    throw new ArgumentError("nothing-kept", "found the program run from its sources, expected a built one", {
      hint: "what is measured is kept by the hash of the build: npm run build",
    });
  const { effects, save } = keptSums(diskEffects, { records: kept.records, verify: wish.verify });
  const progress = progressLine(terminal, { quiet: false });
  try {
    const { runs, made, waiting } = await measureShare(manifest, share, kept, {
      effects,
      onProgress: ({ done, total, run }) => progress.show(`${done} of ${total} runs: ${run}`),
    });
    await save();
    progress.clear();
    terminal.out(
      `Part ${share.part} of ${share.parts}: ${runs.length} run${runs.length === 1 ? "" : "s"}, measured ${made}; kept in ${plainText(kept.records.folder)}.\n`,
    );
    if (waiting.length > 0)
      terminal.out(`Not measured yet by other parts: ${waiting.length} run${waiting.length === 1 ? "" : "s"}.\n`);
    return 0;
  } finally {
    progress.clear();
  }
}

function shareOf(text: string): Share {
  const [, part, parts] = /^(\d{1,6})\/(\d{1,6})$/.exec(text)?.map(Number) ?? [];
  if (part !== undefined && parts !== undefined && part >= 1 && part <= parts) return { part, parts };
  throw new ArgumentError("option-value", `found --part ${text}, expected a part such as 3/16`, {
    hint: "parts are counted from 1: 1/16 to 16/16",
  });
}
