import { type BenchReading, type BenchSensor, benchChannels } from "../contract/benchDeclaration.ts";
import type { BenchCheck } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import { extent, median } from "../numeric/descriptive.ts";

/**
 * What the readings of one file show of the device: gaps, status, saturation, dead channels, uneven steps, a tare taken on one
 * sample. Judged on the readings as logged, before anything is turned.
 *
 * @param reading  in SI (newtons, newton metres), sensor axes
 */
export function readingChecks(reading: BenchReading, sensor: BenchSensor, settings: BenchSettings): BenchCheck[] {
  return [
    ...channelChecks(reading, sensor, settings),
    ...numberChecks(reading),
    ...stepChecks(reading, sensor, settings),
  ];
}

function channelChecks(reading: BenchReading, { fullScale }: BenchSensor, settings: BenchSettings): BenchCheck[] {
  const { wrench } = reading;
  const tared: BenchCheck = {
    code: "one-sample-tare",
    severity: "doubt",
    message:
      "the first reading is exactly 0 in all six channels: the log was tared on one sample, and its noise is in the means",
    evidence: {},
    hint: "log untared, or tare on a second at rest; harmonics and reductions do not rest on it",
  };
  return [
    ...(benchChannels.every((name) => wrench[name][0] === 0) ? [tared] : []),
    ...benchChannels.flatMap((name, c) => {
      const full = fullScale === null ? null : c < 3 ? fullScale.force[c]! : fullScale.moment[c - 3]!;
      return channelCheck(wrench[name], { name, full, unit: c < 3 ? "N" : "N m" }, settings) ?? [];
    }),
  ];
}

function channelCheck(
  column: Float64Array,
  { name, full, unit }: { readonly name: string; readonly full: number | null; readonly unit: string },
  settings: BenchSettings,
): BenchCheck | null {
  const { low, high } = extent(column);
  const largest = Math.max(-low, high);
  const evidence = { channel: name, lowest: low, highest: high, full_scale: full };
  if (low === high)
    return {
      code: "constant-channel",
      severity: "unusable",
      message: `${name} reads ${low} from beginning to end: a dead channel, or a column that is none`,
      evidence,
      hint: "look at the cable and at `signals: wrench: columns`",
    };
  if (full !== null && largest > settings.over_scale * full)
    return {
      code: "over-scale",
      severity: "doubt",
      message: `${name} reaches ${largest.toPrecision(4)} ${unit}, its full scale is ${full}: the unit is another, or these are raw counts`,
      evidence,
      hint: "declare `signals: wrench: units`, or `sensor: counts` for raw counts",
    };
  const atEnd = longestAt(column, low, high);
  const beyond = full !== null && largest >= settings.saturated_share * full;
  // five equal readings at the very end of the range do not come from noise
  if (!beyond && atEnd.length < 5) return null;
  return {
    code: "saturated",
    severity: "unusable",
    message: beyond
      ? `${name} reaches ${largest.toPrecision(4)} ${unit}, its full scale is ${full}: what lies beyond is cut off`
      : `${name} stays at ${atEnd.value.toPrecision(4)} ${unit}, the end of its range, for ${atEnd.length} readings: cut off`,
    evidence,
    hint: "run slower, or take a larger range",
  };
}

function longestAt(column: Float64Array, low: number, high: number): { value: number; length: number } {
  let best = { value: high, length: 0 };
  let run = 0;
  for (let i = 0; i < column.length; i++) {
    const value = column[i]!;
    run = value === low || value === high ? (i > 0 && column[i - 1] === value ? run + 1 : 1) : 0;
    if (run > best.length) best = { value, length: run };
  }
  return best;
}

function numberChecks({ sequence, status, t }: BenchReading): BenchCheck[] {
  const found: BenchCheck[] = [];
  if (sequence !== null && sequence.length > 2) {
    const steps = sequence.subarray(1).map((value, i) => value - sequence[i]!);
    const usual = median(steps);
    // a counter that begins again at 0 has gone round
    const gaps = steps.filter((step) => step !== usual && step > 0);
    const lost = gaps.reduce((sum, step) => sum + (usual > 0 ? step / usual - 1 : 0), 0);
    if (gaps.length > 0)
      found.push({
        code: "sequence-gap",
        severity: "doubt",
        message: `the readings' running number jumps ${gaps.length} times, ${Math.round(lost)} readings are missing`,
        evidence: { gaps: gaps.length, missing: Math.round(lost) },
        hint: "if the time comes from a rate, all that follows is early; log again with a larger buffer",
      });
  }
  if (status !== null) {
    const bad = status.reduce((sum, value) => sum + (value === 0 ? 0 : 1), 0);
    const first = status.findIndex((value) => value !== 0);
    if (bad > 0)
      found.push({
        code: "status",
        severity: "doubt",
        message: `the device's status is not 0 in ${bad} readings, first at ${(t[first]! - t[0]!).toFixed(2)} s (${status[first]})`,
        evidence: { readings: bad, first_s: t[first]! - t[0]!, value: status[first]! },
        hint: "the device's manual says what the bit means: overload, calibration or transmission",
      });
  }
  return found;
}

function stepChecks({ t }: BenchReading, { filter }: BenchSensor, settings: BenchSettings): BenchCheck[] {
  const found: BenchCheck[] = [];
  if (t.length < 3) return found;
  const steps = t.subarray(1).map((value, i) => value - t[i]!);
  const usual = median(steps);
  const gaps = steps.filter((step) => step > settings.gap_intervals * usual);
  if (gaps.length > 0)
    found.push({
      code: "gap",
      severity: "doubt",
      message: `${gaps.length} gaps in time, the longest of ${Math.max(...gaps).toFixed(3)} s where readings come every ${usual.toFixed(4)} s`,
      evidence: { gaps: gaps.length, longest_s: Math.max(...gaps), usual_s: usual },
      hint: "nothing is put into a gap; if it lies in the cycles, run again",
    });
  let square = 0;
  let even = 0;
  for (const step of steps)
    if (step <= settings.gap_intervals * usual) {
      square += (step - usual) ** 2;
      even++;
    }
  const scatter = Math.sqrt(square / Math.max(1, even)) / usual;
  if (!(usual > 0) || scatter > settings.jitter_share)
    found.push({
      code: "jitter",
      severity: "doubt",
      message: `the readings come unevenly: their steps scatter by ${(100 * scatter).toFixed(0)} % of ${(1000 * usual).toFixed(2)} ms`,
      evidence: { scatter, usual_s: usual },
      hint: "stamp the readings in the device; stamps of their receipt put jitter into phases and peaks",
    });
  const rate = 1 / usual;
  if (filter === null && rate < settings.alias_rate)
    found.push({
      code: "aliasing",
      severity: "doubt",
      message: `readings at ${rate.toFixed(0)} Hz through a filter that is not declared: what is faster than ${(rate / 2).toFixed(0)} Hz may show as something slow`,
      evidence: { rate_hz: rate },
      hint: "declare `sensor: filter` (`none` where there is none), or log faster",
    });
  return found;
}
