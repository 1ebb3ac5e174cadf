import { CounterpoiseError } from "../foundation/errors.ts";

/**
 * @throws CounterpoiseError  code `not-degrees-of-freedom`: NaN, infinite, zero or negative
 */
export function requireDegreesOfFreedom(functionName: string, degreesOfFreedom: number): void {
  if (degreesOfFreedom > 0 && Number.isFinite(degreesOfFreedom)) return;
  throw new CounterpoiseError(
    "not-degrees-of-freedom",
    `${functionName} requires degrees of freedom above 0, found ${degreesOfFreedom}`,
  );
}
