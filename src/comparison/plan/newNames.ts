import type { Campaign, RunDeclaration } from "../../contract/campaign.ts";

/** Letters that a file's name, a table and a sentence all bear. */
const plain = /^[\p{L}\p{N}_.-]*$/u;

interface Numbered {
  readonly stem: string;
  readonly number: number;
  readonly width: number;
}

/**
 * A name that ends in a number, such as day2; null where it does not, where that is the end of a date, or where the rest could
 * not name a file.
 */
function numbered(name: string): Numbered | null {
  if (/\d{4}\D?\d{2}\D?\d{2}$/u.test(name)) return null;
  const found = /^(.*?)(\d{1,9})$/u.exec(name);
  if (found === null || !plain.test(found[1]!) || /^[-.]/.test(found[1]!)) return null;
  return { stem: found[1]!, number: Number(found[2]), width: found[2]!.length };
}

function highest(names: readonly string[]): Numbered | null {
  let best: Numbered | null = null;
  for (const name of names) {
    const found = numbered(name);
    if (found !== null && (best === null || found.number > best.number)) best = found;
  }
  return best;
}

/** Names that count on after the highest one there is, and that no one bears; `first` where none ends in a number. */
function* countedOn(
  names: readonly string[],
  first: Omit<Numbered, "number">,
  alike: readonly string[] = [],
): Generator<string, never> {
  const taken = new Set([...names, ...alike]);
  const found = highest(names) ?? { ...first, number: 0 };
  // of other names only those with the same stem count
  const last = highest([...taken].filter((name) => numbered(name)?.stem === found.stem)) ?? found;
  for (let number = last.number + 1; ; number++) {
    const name = `${last.stem}${String(number).padStart(last.width, "0")}`;
    if (!taken.has(name)) yield name;
  }
}

/** Names for new blocks: day3 after day2, next-1 where no block's name ends in a number. */
export function newBlocks(campaign: Campaign, flownBlocks: readonly string[], count: number): string[] {
  const names = campaign.runs.flatMap(({ block }) => (block === null ? [] : [block]));
  return take(countedOn([...names, ...flownBlocks], { stem: "next-", width: 1 }), count);
}

/**
 * Ids for new runs with the names of their logs, none of them borne by a run or a log yet: flight-21 after flight-20, with
 * the folder and the ending that the logs have had. A run of several logs has one each, `flight-21-mocap`.
 */
export function newRuns(
  campaign: Campaign,
  { flownIds, flownLogs = [] }: { readonly flownIds: readonly string[]; readonly flownLogs?: readonly string[] },
  count: number,
): { id: string; logs: Record<string, string> }[] {
  const ids = [...flownIds, ...campaign.runs.map(({ id }) => id)];
  const taken = new Set([...flownLogs, ...campaign.runs.flatMap(({ logs }) => Object.values(logs).flat())]);
  const files = [...taken].map((log) => /([^/\\]*?)(\.[^./\\]*)?$/u.exec(log)![1]!);
  const template = campaign.runs.at(-1);
  const found: { id: string; logs: Record<string, string> }[] = [];
  const next = countedOn(ids, { stem: "flight-", width: 2 }, files);
  while (found.length < count) {
    const id = next.next().value;
    const logs = logsOf(template, id);
    if (!Object.values(logs).some((log) => taken.has(log))) found.push({ id, logs });
  }
  return found;
}

/** Names for the captures before and after a block. */
export function captureLogs(campaign: Campaign, block: string): { before: string; after: string } {
  const taken = new Set(campaign.staticCaptures);
  const first = campaign.staticCaptures[0] ?? campaign.runs.at(-1)?.logs[""]?.[0] ?? null;
  const free = (when: string): string => {
    for (let again = 1; ; again++) {
      const log = beside(first, `static-${when}-${block}${again === 1 ? "" : `-${again}`}`);
      if (!taken.has(log)) return log;
    }
  };
  return { before: free("before"), after: free("after") };
}

function logsOf(template: RunDeclaration | undefined, id: string): Record<string, string> {
  const names = Object.entries(template?.logs ?? { "": [] });
  return Object.fromEntries(
    names.map(([name, parts]) => [name, beside(parts[0] ?? null, name === "" ? id : `${id}-${name}`)]),
  );
}

/** The name in the folder of a log that is there, with its ending. */
function beside(log: string | null, name: string): string {
  const [, folder = "", ending = ".bag"] = /^(.*[/\\])?[^/\\]*?(\.[A-Za-z0-9]{1,8})?$/u.exec(log ?? "") ?? [];
  // a semicolon parts the logs of a run in a table
  return `${folder.includes(";") ? "" : folder}${name}${ending}`;
}

function take(names: Generator<string, never>, count: number): string[] {
  return Array.from({ length: count }, () => names.next().value);
}
