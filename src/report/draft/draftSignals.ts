import type { SignalName } from "../../foundation/signals.ts";
import { type Candidate, draftOf } from "./candidates.ts";
import type { SignalDraft } from "./SignalDraft.ts";

/** What serves a signal, or what it lies between where it is to be asked for. */
export interface RoleDraft {
  /** null: nothing told which of `also` it is */
  readonly chosen: Candidate | null;
  readonly also: readonly string[];
  readonly parts: readonly string[];
  readonly remarks: readonly string[];
  /** those that its motion beside another's gave away, by group */
  readonly units?: Readonly<Record<string, string>>;
}

/** More names than these no person reads in a comment. */
const mostNames = 8;

/** The lines of a manifest's `signals`. */
export function draftSignals(roles: ReadonlyMap<SignalName, RoleDraft>): SignalDraft[] {
  return [...roles].map(([signal, { chosen, also, parts, remarks, units = {} }]) => {
    const names = `${also.slice(0, mostNames).join(", ")}${also.length > mostNames ? ` and ${also.length - mostNames} more` : ""}`;
    if (chosen === null)
      return {
        signal,
        place: "asked",
        parts: ["topic: <TOPIC>", ...parts],
        remarks: [`nothing in the log tells which: ${names}`, ...remarks],
        down: false,
        clock: null,
        rate: null,
      };
    return draftOf(signal, chosen, {
      parts,
      units,
      remarks: [...remarks, ...(also.length > 0 ? [`also: ${names}`] : [])],
    });
  });
}
