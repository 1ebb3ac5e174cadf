/** jstat carries no types; these are the few functions used here. */
declare module "jstat" {
  const jStat: {
    studentt: { inv(probability: number, degreesOfFreedom: number): number };
  };
  export = jStat;
}
