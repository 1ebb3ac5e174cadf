import type { SplitFigures } from "../../src/contract/evaluation.ts";
import type { Covariance } from "./confidenceEllipse.ts";

type Harmonic = SplitFigures["harmonics"][number];

/** A harmonic a cos(k theta + phi) as it is drawn: length a, anticlockwise angle phi; metres. */
export interface Phasor {
  readonly k: number;
  readonly vector: readonly [number, number];
  readonly covariance: Covariance | null;
}

/** a cos(k theta + phi) = a cos phi cos k theta - a sin phi sin k theta: the sine coefficient turns its sign. */
export function phasorOf({ k, cos, sin, cov }: Harmonic): Phasor {
  return { k, vector: [cos, -sin], covariance: cov === null ? null : [cov[0], -cov[1], cov[2]] };
}
