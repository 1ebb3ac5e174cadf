import type { MissingSignal, SignalRequest } from "../../foundation/recording.ts";
import { declaredUnit } from "../inSI.ts";
import type { Tabular } from "./Tabular.ts";

/** role -> number of the column that serves it */
interface Roles {
  readonly roles: Readonly<Record<string, number>>;
}

/** Of each role as the heading writes it; lengths also from what stands before the heading. */
export function unitsOf({ roles }: Roles, table: Tabular): Record<string, string | null> {
  return Object.fromEntries(
    Object.entries(roles).map(([role, column]) => {
      const own = table.units[column] ?? null;
      return [role, own ?? (["x", "y", "z"].includes(role) ? table.lengthUnit : null)];
    }),
  );
}

/** Parts are joined before they are scaled: what the manifest declares no unit for must be written in one. */
export function otherUnits(
  request: SignalRequest,
  plans: readonly Roles[],
  tables: readonly Tabular[],
): MissingSignal | null {
  const written = plans.map((plan, k) => unitsOf(plan, tables[k]!));
  for (const role of Object.keys(plans[0]!.roles)) {
    if (declaredUnit(request, role) !== null) continue;
    const other = written.findIndex((units) => units[role] !== written[0]![role]);
    if (other < 0) continue;
    const name = (k: number): string => `${written[k]![role] ?? "no unit"} in ${tables[k]!.path}`;
    return {
      signal: request.signal,
      topic: request.topic,
      reason: "wrong-type",
      message: `${request.signal}: found ${role} in ${name(other)}, expected the same as ${name(0)}`,
      hint: "write all parts of one log in the same units, or declare units: for the signal",
    };
  }
  return null;
}
