/** How the standard error of a difference is had: from either configuration's own spread, from one pooled spread, or HC3. */
export type ErrorKind = "welch" | "pooled" | "hc3";

/** Candidate minus baseline with its uncertainty. */
export interface DifferenceEstimate {
  readonly method: "welch" | "blocked";
  readonly error: ErrorKind;
  /** the unit of the values; negative = the candidate is smaller */
  readonly difference: number;
  /** 0 where the runs show no spread */
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}
