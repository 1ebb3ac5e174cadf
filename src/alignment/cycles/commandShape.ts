import type { CommandShape } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import { axes } from "../../foundation/tracks.ts";
import type { Seconds } from "../../foundation/units.ts";
import { extent } from "../../numeric/descriptive.ts";
import { cycleExtent } from "./cycleExtent.ts";
import { describeCommand, type MovingStretch, movingStretches } from "./describeCommand.ts";
import { mostMoving, movingWithin } from "./findCycles.ts";
import { bestPeriod, repeatsWith } from "./notCyclic.ts";
import { type CommandSamples, type Waveform, waveformExtent } from "./waveform.ts";

/** A motion shorter than this is a step to another place, not a trajectory, seconds. */
const leastMotion = 3;
/** Rests no longer than this belong to the motion, seconds. */
const pause = 2;
/** Periods are looked for between a quarter and four times these, seconds. */
const guesses = [1.2, 12];
/** A plane or an axis is meant where the path is off it by less than this, and a path is a circle where it is to this. */
const meant = 0.05;
/** Points that a period is looked for in: so many a second, and no more in a long log. */
const [pointsPerSecond, fewestPoints, mostPoints] = [20, 800, 4000];

/**
 * What a command asks for: a circle, a line, a rest, or a motion that only the log knows. The longest motion counts; steps to another
 * place before and after it do not.
 *
 * @param samples  the command's messages, seconds and metres, in its own frame
 * @param likely   periods of other commands like it, seconds: one that this repeats with as well is not searched for again
 * @returns null where there are too few messages to say
 */
export function commandShape(samples: CommandSamples, likely: readonly Seconds[] = []): CommandShape | null {
  const n = samples.t.length;
  if (n < 10) return null;
  const motions = movingStretches(samples, pause);
  const length = ({ from, to }: MovingStretch): Seconds => samples.t[to]! - samples.t[from]!;
  const longest = motions.reduce<MovingStretch | null>((a, b) => (a === null || length(b) > length(a) ? b : a), null);
  if (longest === null || length(longest) < leastMotion) {
    const duration = longestRest(samples, motions);
    if (longest === null || isHold(samples, duration)) return { shape: "hold", duration };
    return loggedOf(samples, { from: motions[0]!.from, to: motions.at(-1)!.to }, null);
  }
  const thin = thinned(samples, longest);
  const known = likely.find((period) => repeatsWith(thin.samples, thin.stretch, period));
  for (const guess of known === undefined ? guesses : [known, ...guesses]) {
    const period = guess === known ? known : bestPeriod(thin.samples, thin.stretch, guess);
    if (period === null) continue;
    const wave = describeCommand(samples, longest, period, 0.02);
    if (wave === null || !(wave.residual < 0.1 * wave.spread)) continue;
    const { start, end } = cycleExtent(samples, longest, wave);
    const step = (samples.t[n - 1]! - samples.t[0]!) / (n - 1);
    const cycles = Math.max(1, Math.floor((end + step - start) / wave.period + 1e-3));
    return circleOf(wave, cycles) ?? lineOf(wave, cycles) ?? loggedOf(samples, longest, wave.period);
  }
  return loggedOf(samples, longest, null);
}

/**
 * Whether a command that steps from place to place rests as an evaluation wants it of a hold: once for long enough to settle and be
 * judged, and with hardly a motion beside it.
 */
function isHold(samples: CommandSamples, duration: Seconds): boolean {
  if (duration < defaultSettings.hold_settle + defaultSettings.hold_length) return false;
  return movingWithin(samples) <= mostMoving * duration;
}

function longestRest({ t }: CommandSamples, motions: readonly MovingStretch[]): Seconds {
  const ends = [...motions.map(({ from }) => t[from]!), t.at(-1)!];
  const starts = [t[0]!, ...motions.map(({ to }) => t[to]!)];
  return Math.max(...ends.map((end, k) => end - starts[k]!));
}

/** Every so many of the samples of a motion, for the search of a period alone. */
function thinned(
  samples: CommandSamples,
  { from, to }: MovingStretch,
): { samples: CommandSamples; stretch: MovingStretch } {
  const lasts = samples.t[to]! - samples.t[from]!;
  const points = Math.min(mostPoints, Math.max(fewestPoints, pointsPerSecond * lasts));
  const every = Math.ceil((to - from + 1) / points);
  const rows: number[] = [];
  for (let i = from; i <= to; i += every) rows.push(i);
  const pick = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
  const { t, x, y, z } = samples;
  return { samples: { t: pick(t), x: pick(x), y: pick(y), z: pick(z) }, stretch: { from: 0, to: rows.length - 1 } };
}

/** Of first harmonics a and b: a circle has |a| = |b| = radius and a at right angles to b, so |a x b| = radius^2; no others. */
function circleOf(wave: Waveform, cycles: number): CommandShape | null {
  const a = wave.cosines.map((column) => column[0]!);
  const b = wave.sines.map((column) => column[0]!);
  const normal = [a[1]! * b[2]! - a[2]! * b[1]!, a[2]! * b[0]! - a[0]! * b[2]!, a[0]! * b[1]! - a[1]! * b[0]!];
  const size = Math.hypot(normal[0]!, normal[1]!, normal[2]!);
  const radius = Math.sqrt([...a, ...b].reduce((sum, value) => sum + value * value, 0) / 2);
  // the spread of a circle alone is its radius
  if (size < (1 - 2 * meant) * radius * radius || Math.abs(wave.spread / radius - 1) > meant) return null;
  const across = normal.map(Math.abs).indexOf(Math.max(...normal.map(Math.abs)));
  if (Math.sqrt(Math.max(0, 1 - (normal[across]! / size) ** 2)) > meant) return null;
  const plane = axes.filter((_, axis) => axis !== across).join("") as "xy" | "yz" | "xz";
  return { shape: "circle", plane, radius, period: wave.period, cycles };
}

function lineOf(wave: Waveform, cycles: number): CommandShape | null {
  const reach = waveformExtent(wave);
  const along = reach.indexOf(Math.max(...reach));
  const aside = Math.hypot(...reach.filter((_, axis) => axis !== along));
  if (aside > meant * reach[along]!) return null;
  return { shape: "line", axis: axes[along]!, stroke: reach[along]!, period: wave.period, cycles };
}

function loggedOf(samples: CommandSamples, { from, to }: MovingStretch, period: Seconds | null): CommandShape {
  const reach = [samples.x, samples.y, samples.z].map((column) => {
    const { low, high } = extent(column.subarray(from, to + 1));
    return high - low;
  });
  return {
    shape: "logged",
    period,
    reach: [reach[0]!, reach[1]!, reach[2]!],
    lasts: samples.t[to]! - samples.t[from]!,
  };
}
