/** Rows [first, last] of a column. */
export interface Stretch {
  readonly first: number;
  readonly last: number;
  /** how many of them are beyond the limit */
  readonly beyond: number;
}

/** Fewer rows beyond the limit, or rows farther apart, are single readings gone astray and no stretch. */
const least = 5;
const within = 20;

/**
 * The stretch with most values beyond a limit, where stretches are made of 5 such values among 20 rows in a row and what
 * overlaps them.
 *
 * @returns null where values beyond the limit stand alone, or there are none
 */
export function worstStretch(values: Float64Array, limit: number): Stretch | null {
  const rows: number[] = [];
  values.forEach((value, row) => {
    if (value > limit) rows.push(row);
  });
  let worst: Stretch | null = null;
  let start = -1;
  let end = -1;
  for (let k = 0; k + least <= rows.length; k++) {
    if (rows[k + least - 1]! - rows[k]! >= within) continue;
    if (k > end) start = k;
    end = k + least - 1;
    const beyond = end - start + 1;
    if (worst === null || beyond > worst.beyond) worst = { first: rows[start]!, last: rows[end]!, beyond };
  }
  return worst;
}
