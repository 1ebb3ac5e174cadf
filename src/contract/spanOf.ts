import type { RunDeclaration, Span } from "./campaign.ts";

/** Which part of one of its logs a run is; null: the whole log. */
export function spanOf({ span }: Pick<RunDeclaration, "span">, log: string): Span | null {
  if (span === null || isOfAll(span)) return span;
  return Object.hasOwn(span, log) ? span[log]! : null;
}

/** Whether one span is that of all logs. */
export function isOfAll(span: NonNullable<RunDeclaration["span"]>): span is Span {
  return Array.isArray(span);
}
