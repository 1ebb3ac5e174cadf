import type { Campaign, RunDeclaration, SignalSource, Span } from "./campaign.ts";

/**
 * The campaign once for each pair that it judges, with that pair as baseline and candidate and all others as further ones; the
 * leading pair first.
 */
export function contrastsOf(campaign: Campaign): Campaign[] {
  const further = campaign.furtherContrasts ?? [];
  const { baseline, candidate } = campaign;
  return [
    campaign,
    ...further.map((pair) => ({
      ...campaign,
      ...pair,
      furtherContrasts: [{ baseline, candidate }, ...further.filter((other) => other !== pair)],
    })),
  ];
}

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

/** Which part of one of its logs a run is; null: the whole log. */
export function spanOf({ span }: Pick<RunDeclaration, "span">, log: string): Span | null {
  if (span === null || isOfAll(span)) return span;
  return Object.hasOwn(span, log) ? span[log]! : null;
}

/** Whether one span is that of all logs. */
export function isOfAll(span: NonNullable<RunDeclaration["span"]>): span is Span {
  return Array.isArray(span);
}
