/** What tells the configurations of runs apart in the paths of their logs. */
export interface NameSplit {
  /** of each run: the words that stand for its configuration */
  readonly words: readonly string[];
  /** the words of the one that nothing was added to; null where none says so */
  readonly baseline: string | null;
}

/** Words for a vehicle to which nothing was added. */
const bareWords =
  /^(bare|without|no|none|plain|baseline|base|ref|reference|off|unweighted|unbalanced|w0|0g|ohne|sans|sin|senza)$/i;
/** Words that count, date or name what every log is: no configuration. */
const countWords =
  /^(\d+([.:]\d+)*|(rep|run|flight|test|trial|take|exp|day|pack|battery|batt|bat|lipo|akku|accu|log|v|nr|no)[-_]?\d+|day|pack|mcap|sqlite3?|db3|bags?|ros[12]?|ulo?g|csv|c3d|\d{4}-\d\d?-\d\d?.*|\d{8}.*|[a-z]?\d{1,3})$/i;
const mostConfigurations = 4;

/**
 * The configurations that folders or words of file names tell apart: two to four, each of several logs, none of them a number or
 * a date. What splits the logs as their trajectories or days do is not theirs.
 *
 * @param paths   of the runs' logs
 * @param others  how trajectories and days split them, one name a run
 */
export function splitNames(paths: readonly string[], others: readonly (readonly string[])[]): NameSplit | null {
  if (paths.length < 2) return null;
  const parts = paths.map(partsOf);
  const ways = [
    ...waysOf(parts.map(({ folders }) => folders)),
    ...waysOf(parts.map(({ words }) => words)),
    ...bareOrNot(
      parts.map(({ folders, words }) => [...folders.flatMap((folder) => folder.split(/[\s_-]+/)), ...words]),
    ),
  ];
  const possible = ways.filter(isSplit);
  // a word of the trade tells, whatever else splits the logs alike
  const known = possible.find((words) => baselineOf(words) !== null);
  const fitting = possible.filter((words) => !others.some((other) => splitsAlike(words, other)));
  const words = known ?? fitting[0];
  return words === undefined ? null : { words, baseline: baselineOf(words) };
}

/** Words for a pack, and what it is called: `pack-B`, `bat2`, `lipo 03`. */
const packWords = /(?:^|[/\\\s_.-])(pack|battery|batt|bat|lipo|akku|accu)[\s_-]?([a-z]|\d{1,3})(?=$|[/\\\s_.-])/i;

/** The packs that paths name, of each run; null throughout where not every path names one. */
export function batteriesIn(paths: readonly string[]): readonly (string | null)[] {
  const packs = paths.map((path) => {
    const found = packWords.exec(path);
    return found === null ? null : `pack-${found[2]!.replace(/^0+(?=\d)/, "")}`;
  });
  return packs.includes(null) ? paths.map(() => null) : packs;
}

function partsOf(path: string): { folders: readonly string[]; words: readonly string[] } {
  const all = path.split(/[/\\]/);
  const stem = all.pop()!.replace(/(?<=.)\.[A-Za-z][A-Za-z0-9]*$/, "");
  return { folders: all, words: stem.split(/[\s_-]+/).filter((word) => word !== "") };
}

/** By the first word, by the second ..., where all have as many. */
function waysOf(lists: readonly (readonly string[])[]): string[][] {
  const count = Math.min(...lists.map(({ length }) => length));
  if (!lists.every(({ length }) => length === count)) return [];
  return Array.from({ length: count }, (_, k) => lists.map((list) => list[k]!));
}

/** By a word for a bare vehicle that some have and others do not; those are called by what they have and the bare have not. */
function bareOrNot(lists: readonly (readonly string[])[]): string[][] {
  const bare = lists.map((words) => words.find((word) => bareWords.test(word)) ?? null);
  if (!bare.includes(null) || bare.every((word) => word === null)) return [];
  const usual = new Set(lists.filter((_, k) => bare[k] !== null).flat());
  return [
    bare.map(
      (word, k) => word ?? (lists[k]!.filter((own) => !usual.has(own) && !countWords.test(own)).join(" ") || "other"),
    ),
  ];
}

function isSplit(words: readonly string[]): boolean {
  const groups = new Map<string, number>();
  for (const word of words) groups.set(word, (groups.get(word) ?? 0) + 1);
  if (groups.size < 2 || groups.size > mostConfigurations) return false;
  // weights by their numbers, W0 and W5, where one of them is none
  const isWeighed = baselineOf(words) !== null && words.every((word) => /^[a-z]+\d[\d.]*$/i.test(word));
  if (!isWeighed && [...groups.keys()].some((word) => countWords.test(word) && !bareWords.test(word))) return false;
  // each its own and alike but for a number: they count
  if (groups.size === words.length && new Set(words.map((word) => word.replace(/\d+/g, ""))).size === 1) return false;
  // of very few logs each may be alone: of two, or where a word of the trade says that they are no mere names
  const isFew = words.length === 2 || (words.length <= mostConfigurations && baselineOf(words) !== null);
  return isFew || [...groups.values()].every((count) => count >= 2);
}

function splitsAlike(one: readonly string[], other: readonly string[]): boolean {
  const pairs = new Set(one.map((word, k) => `${word}\n${other[k]}`));
  return new Set(other).size > 1 && pairs.size === new Set(one).size && pairs.size === new Set(other).size;
}

/** Of names of configurations the one to which nothing was added; null where none says so. */
export function baselineOf(words: readonly string[]): string | null {
  const bare = [...new Set(words)].filter((word) => word.split(/[^\p{L}\p{N}]+/u).some((part) => bareWords.test(part)));
  return bare.length === 1 ? bare[0]! : null;
}
