/**
 * Seconds from one frame to the next, where the unit of a time is a frame rate, such as "100 Hz": captures that are exported
 * without times number their frames.
 *
 * @returns null where the text is no rate from 0.1 Hz to 100 kHz
 * @example framePeriod("200 Hz") // => 0.005
 */
export function framePeriod(unit: string): number | null {
  const rate = Number(/^\s*(\d+(?:\.\d+)?)\s*Hz\s*$/.exec(unit)?.[1] ?? Number.NaN);
  return rate >= 0.1 && rate <= 1e5 ? 1 / rate : null;
}
