import { criticalValue } from "../comparison/decideVerdict.ts";
import { welchDifference } from "../comparison/estimateDifference.ts";
import type { BenchEvaluation } from "../contract/benchEvaluation.ts";
import type { SharedNumber } from "../contract/benchToFlight.ts";
import type { MovingEffect } from "../contract/reasons.ts";
import { forecastLimits } from "./forecast.ts";

/** Apparent moving mass from the bench's force and gravity moment, and from the flights, by trajectory, axis and configuration. */
export function sharedNumbers(bench: BenchEvaluation, moving: readonly MovingEffect[]): SharedNumber[] {
  return moving.flatMap(({ trajectory, axis, harmonic, unit, configurations }) => {
    if (harmonic !== 1 || unit !== "kg") return [];
    return Object.entries(configurations).flatMap(([configuration, flown]): SharedNumber[] => {
      const own = bench.moving.filter(
        (one) => one.trajectory === trajectory && one.axis === axis && one.configuration === configuration,
      );
      if (own.length === 0) return [];
      const sides = own.map(({ from, refits, value, ci95 }) => {
        const apart = differenceOf(
          { n: flown.n, mean: flown.mean, se: flown.sd === null ? null : flown.sd / Math.sqrt(flown.n) },
          { n: refits, mean: value, se: standardErrorOf(ci95, refits) },
        );
        return { from, refits, value, ci95, ...apart };
      });
      const flight = { n: flown.n, value: flown.mean, ci95: flown.ci95 };
      return [{ trajectory, axis, configuration, bench: sides, flight, finding: findingOf(sides) }];
    });
  });
}

function standardErrorOf(ci95: readonly [number, number] | null, n: number): number | null {
  return ci95 === null || n < 2 ? null : (ci95[1] - ci95[0]) / 2 / criticalValue((1 - forecastLimits.level) / 2, n - 1);
}

interface Side {
  readonly n: number;
  readonly mean: number;
  readonly se: number | null;
}

/** Welch's interval of flight less bench. */
function differenceOf(
  flight: Side,
  bench: Side,
): Pick<SharedNumber["bench"][number], "difference" | "difference_ci95" | "agrees"> {
  const sides = [bench, flight];
  const squares = sides.map(({ n, se }) => (se === null ? Number.NaN : se ** 2 * n * (n - 1)));
  const estimate = squares.some(Number.isNaN)
    ? null
    : welchDifference({
        count: Int32Array.from(sides, ({ n }) => n),
        mean: Float64Array.from(sides, (side) => side.mean),
        squares: Float64Array.from(squares),
      });
  const difference = flight.mean - bench.mean;
  if (estimate === null) return { difference, difference_ci95: null, agrees: null };
  const half = criticalValue((1 - forecastLimits.level) / 2, estimate.degreesOfFreedom) * estimate.standardError;
  return {
    difference,
    difference_ci95: [difference - half, difference + half],
    agrees: Math.abs(difference) <= half,
  };
}

function findingOf(sides: SharedNumber["bench"]): string {
  const known = sides.filter(({ agrees }) => agrees !== null);
  if (known.length === 0) return "too few refits or runs to say whether they agree";
  const apart = known.filter(({ agrees }) => agrees === false);
  if (apart.length === 0) return "bench and flights agree";
  if (apart.length < known.length)
    return apart[0]!.from === "force"
      ? "the bench's force stands apart: gravity's moment and the flights agree. Scale of the forces, a resonance of the stand or a filter that is not declared could make it so"
      : "the bench's gravity moment stands apart: its force and the flights agree. Unit or scale of the moments, or the sensor's tilt, could make it so";
  return "the flights stand apart from the bench. The height of the centre of mass, the take-off mass, drag, a tool captured later than the vehicle, or other weights on the bench than in flight could make it so";
}
