import { inspectLog } from "../../pipeline/inspectLog.ts";
import { logText } from "../../report/logText.ts";
import type { CommandInput } from "../Command.ts";
import type { Terminal } from "../Terminal.ts";

/**
 * `counterpoise inspect LOG`: shows what is in a log.
 *
 * @returns 0
 * @throws LogError  code `log-unreadable`: it cannot be read or is of no known format
 */
export async function inspect({ flags, operands }: CommandInput, terminal: Terminal): Promise<number> {
  const inspection = await inspectLog(operands[0]!);
  if (flags.has("json")) terminal.out(`${JSON.stringify(inspection, null, 1)}\n`);
  else terminal.out(logText(inspection, terminal));
  return 0;
}
