import { plainText } from "../report/text/plainText.ts";
import { textWidth } from "../report/text/textWidth.ts";
import type { Terminal } from "./Terminal.ts";

/** One line on standard error that is written over as the work goes on. */
export interface ProgressLine {
  readonly show: (text: string) => void;
  readonly clear: () => void;
}

const wipe = "\r\u001b[K";

/** A progress line where standard error is a terminal; elsewhere one that stays silent. */
export function progressLine(terminal: Terminal, { quiet }: { quiet: boolean }): ProgressLine {
  if (quiet || !terminal.progress) return { show: () => undefined, clear: () => undefined };
  let shown = false;
  return {
    show: (text) => {
      let line = plainText(text);
      while (textWidth(line) >= terminal.width) line = line.slice(0, -1);
      terminal.err(wipe + line);
      shown = true;
    },
    clear: () => {
      if (shown) terminal.err(wipe);
      shown = false;
    },
  };
}
