/** Answers that are costly to make, the most recently used kept. */
export interface RecentlyUsed<T> {
  /** The value of a key, made where it is not kept; asked for twice at once it is made once. A failure is not kept. */
  readonly get: (key: string, make: () => Promise<T>) => Promise<T>;
  readonly size: () => number;
}

/**
 * Keeps the values used last, within a number and a weight. The newest is kept even where it alone is too heavy.
 *
 * @param options.most      values
 * @param options.heaviest  sum of the weights
 * @param options.weigh     weight of one value, such as its bytes
 */
export function recentlyUsed<T>(options: {
  most: number;
  heaviest: number;
  weigh: (value: T) => number;
}): RecentlyUsed<T> {
  // a Map keeps the order of insertion: the first is the one not used for longest
  const kept = new Map<string, { value: Promise<T>; weight: number }>();
  const trim = (): void => {
    let weight = [...kept.values()].reduce((sum, entry) => sum + entry.weight, 0);
    for (const [key, entry] of kept) {
      if (kept.size <= 1 || (kept.size <= options.most && weight <= options.heaviest)) return;
      kept.delete(key);
      weight -= entry.weight;
    }
  };
  return {
    size: () => kept.size,
    get: (key, make) => {
      const found = kept.get(key);
      if (found !== undefined) {
        kept.delete(key);
        kept.set(key, found);
        return found.value;
      }
      const entry = { value: make(), weight: 0 };
      kept.set(key, entry);
      entry.value.then(
        (value) => {
          entry.weight = options.weigh(value);
          trim();
        },
        () => {
          if (kept.get(key) === entry) kept.delete(key);
        },
      );
      return entry.value;
    },
  };
}
