/** Candidate minus baseline with its uncertainty. */
export interface DifferenceEstimate {
  readonly method: "welch" | "blocked";
  /** the unit of the values; negative = the candidate is smaller */
  readonly difference: number;
  /** 0 where the runs show no spread */
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}
