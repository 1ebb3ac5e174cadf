import type { Fault } from "../src/contract/api/fault.ts";
import { CounterpoiseError } from "../src/foundation/errors.ts";

/** A fault of the tool as a client may see it; the stack stays here. */
const ownFault = "a fault of the tool";

/** An error as the API tells it: code, message, place, hint; never a stack. */
export function faultOf(error: unknown): Fault {
  if (error instanceof CounterpoiseError) {
    const { code, message, place, hint } = error;
    return { code, message, ...(place === null ? {} : { place }), ...(hint === null ? {} : { hint }) };
  }
  const said = error instanceof Error ? `${error.name}: ${error.message}` : "something that is no error was thrown";
  return {
    code: "internal",
    message: `${ownFault}: ${said.split("\n")[0]}`,
    hint: "please report it with the manifest; COUNTERPOISE_DEBUG=1 shows where it happened",
  };
}
