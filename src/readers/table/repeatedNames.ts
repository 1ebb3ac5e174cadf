import type { Tabular } from "./Tabular.ts";

/** Names that the heading writes more than once: the first column of a name bears it, the others a number behind it. */
export function repeatedNames(
  { time, roles }: { readonly time: number; readonly roles: Readonly<Record<string, number>> },
  { names }: Tabular,
): string | null {
  const read = [...new Set([time, ...Object.values(roles)])].map((column) => names[column]!);
  const repeated = read.filter((name) => names.includes(`${name} (2)`));
  return repeated.length === 0
    ? null
    : `the heading has several columns called ${repeated.join(", ")}: the first of each is taken, the next is called ${JSON.stringify(`${repeated[0]} (2)`)}`;
}
