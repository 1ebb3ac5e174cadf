import type { SignalSource } from "./campaign.ts";

/** Where a signal is in its log, for a person: its topic, "columns px, py, pz" or "markers A1, A2, A3". */
export function originOf({ topic, columns, markers }: Pick<SignalSource, "topic" | "columns" | "markers">): string {
  if (topic !== null) return topic;
  const [kind, names] =
    columns !== null
      ? ["columns", Object.entries(columns).flatMap(([role, name]) => (role === "t" ? [] : [name]))]
      : ["markers", Object.keys(markers ?? {})];
  const rest = names.length > 4 ? ` and ${names.length - 3} more` : "";
  return `${kind} ${names.slice(0, rest === "" ? 4 : 3).join(", ")}${rest}`;
}
