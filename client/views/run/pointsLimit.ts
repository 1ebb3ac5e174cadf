/** the most columns the service draws, as in src/contract/api/queries.ts, which the bundle does not hold */
export const pointsLimit = 4000;
