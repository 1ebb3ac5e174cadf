import { CounterpoiseError } from "../foundation/errors.ts";

/**
 * The guard at the door of every number of runs asked for.
 *
 * @throws CounterpoiseError  code `not-a-plan`: smallest difference not above 0; level, power or level of the spread not
 *                            inside 0 to 1; power not above the level; least runs not a whole number of at least 2
 */
export function requirePlan(
  functionName: string,
  plan: { smallestDifference: number; level: number; power: number; spreadLevel: number; leastRuns: number },
): void {
  const { smallestDifference, level, power, spreadLevel, leastRuns } = plan;
  const refuse = (expected: string, found: number): never => {
    throw new CounterpoiseError("not-a-plan", `${functionName} requires ${expected}, found ${found}`);
  };
  if (!(smallestDifference > 0 && Number.isFinite(smallestDifference))) {
    refuse("a smallest difference above 0", smallestDifference);
  }
  if (!(level > 0 && level < 1)) refuse("a level above 0 and below 1", level);
  if (!(power > level && power < 1)) refuse(`a power above the level of ${level} and below 1`, power);
  if (!(spreadLevel > 0 && spreadLevel < 1)) refuse("a level of the spread above 0 and below 1", spreadLevel);
  if (!(Number.isInteger(leastRuns) && leastRuns >= 2)) refuse("least runs of a whole number from 2 up", leastRuns);
}
