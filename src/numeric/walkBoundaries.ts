import { CounterpoiseError } from "../foundation/errors.ts";
import { normalCdf, normalQuantile } from "./normal.ts";

/** A walk that has not crossed yet: points of its place (0 or more, for it is even) with density times weight. */
interface Within {
  readonly time: number;
  readonly places: Float64Array;
  readonly masses: Float64Array;
}

/** Beyond this many standard deviations no walk is found in sixteen digits. */
const FAR = 9;

/**
 * Critical values at which Brownian motion without drift, looked at now and then, first leaves a symmetric boundary with the
 * probabilities given: c_k with
 *
 *   P(|W(t_1)| < c_1 sqrt(t_1), ..., |W(t_(k-1))| < c_(k-1) sqrt(t_(k-1)), |W(t_k)| >= c_k sqrt(t_k)) = exits[k]
 *
 * by recursive numerical integration: the density of the walks still inside goes from one look to the next through the normal
 * density of the step, integrated by Gauss and Legendre's rule. Nine digits down to steps of a hundredth of the time.
 *
 * @param times  when it is looked at, above 0, each later than the one before; any unit
 * @param exits  probability of first leaving at each look, 0 or more, together at most 1; 0 gives an infinite value
 * @throws CounterpoiseError  code `not-a-schedule`
 * @source P. Armitage, C. K. McPherson, B. C. Rowe, J. R. Stat. Soc. A 132 (1969) 235-244
 * @example walkBoundaries([0.5, 1], [0.025, 0.025]) // => 2.2414027276, 2.1251187898
 */
export function walkBoundaries(times: readonly number[], exits: readonly number[]): number[] {
  requireSchedule(times, exits);
  // all of it at 0, half on either side
  let within: Within = { time: 0, places: Float64Array.of(0), masses: Float64Array.of(0.5) };
  return times.map((time, k) => {
    const boundary = boundaryOf(within, time, exits[k]!);
    if (k + 1 < times.length) within = stepInside(within, time, { boundary, next: times[k + 1]! });
    return boundary / Math.sqrt(time);
  });
}

function requireSchedule(times: readonly number[], exits: readonly number[]): void {
  const rises = times.every((time, k) => Number.isFinite(time) && time > (times[k - 1] ?? 0));
  const sum = exits.reduce((total, exit) => total + exit, 0);
  if (rises && times.length === exits.length && exits.every((exit) => exit >= 0) && sum <= 1 + 1e-12) return;
  throw new CounterpoiseError(
    "not-a-schedule",
    `walkBoundaries requires rising times above 0 and as many probabilities that add up to at most 1, found ${times.join(", ")} and ${exits.join(", ")}`,
  );
}

/** The place whose both sides together are left with the probability given; infinite for 0, 0 where no more is inside. */
function boundaryOf(within: Within, time: number, exit: number): number {
  if (exit === 0) return Number.POSITIVE_INFINITY;
  const [outside, step] = [Math.log(exit), Math.sqrt(time - within.time)];
  if (exitBeyond(within, step, 0) <= exit) return 0;
  let [low, high] = [0, 39 * Math.sqrt(time)];
  let place = Math.min(high, -normalQuantile(Math.min(0.5, exit / 2)) * Math.sqrt(time));
  // Newton on the logarithm, which falls nearly as a parabola; kept inside what is known to hold it
  for (let turn = 0; turn < 100; turn++) {
    const beyond = exitBeyond(within, step, place);
    const excess = beyond > 0 ? Math.log(beyond) - outside : Number.NEGATIVE_INFINITY;
    if (excess > 0) low = place;
    else high = place;
    const moved = place + (excess * beyond) / (2 * densityAt(within, step, place));
    const next = moved > low && moved < high ? moved : 0.5 * (low + high);
    if (Math.abs(next - place) <= 1e-13 * high) return next;
    place = next;
  }
  return place;
}

/** Probability that the walk is beyond the place, on either side, one step later. */
function exitBeyond({ places, masses }: Within, step: number, place: number): number {
  let sum = 0;
  for (let i = 0; i < places.length; i++) {
    const at = places[i]!;
    sum += masses[i]! * (normalCdf((at - place) / step) + normalCdf((-at - place) / step));
  }
  return 2 * sum;
}

/** Density of the walk at a place, one step later. */
function densityAt({ places, masses }: Within, step: number, place: number): number {
  let sum = 0;
  for (let i = 0; i < places.length; i++) {
    const [near, far] = [(place - places[i]!) / step, (place + places[i]!) / step];
    sum += masses[i]! * (Math.exp(-0.5 * near * near) + Math.exp(-0.5 * far * far));
  }
  return sum / (step * Math.sqrt(2 * Math.PI));
}

/** The walks that are inside the boundary at that time. */
function stepInside(
  within: Within,
  time: number,
  { boundary, next }: { readonly boundary: number; readonly next: number },
): Within {
  const step = Math.sqrt(time - within.time);
  const reach = Math.min(boundary, FAR * Math.sqrt(time));
  // what is integrated is as wide as the shorter of the steps on either side of the look
  const width = Math.min(step, Math.sqrt(next - time));
  const { nodes, weights } = gaussLegendre(Math.min(400, 16 + 8 * Math.ceil(reach / width / 1.5)));
  const places = nodes.map((node) => 0.5 * reach * (node + 1));
  const masses = weights.map((weight, i) => 0.5 * reach * weight * densityAt(within, step, places[i]!));
  return { time, places, masses };
}

const rules = new Map<number, { nodes: Float64Array; weights: Float64Array }>();

/**
 * Nodes and weights of Gauss and Legendre's rule on -1 to 1, by Newton's steps on the Legendre polynomial.
 *
 * @source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 25.4.29 and 22.7.10
 */
function gaussLegendre(size: number): { nodes: Float64Array; weights: Float64Array } {
  const known = rules.get(size);
  if (known !== undefined) return known;
  const [nodes, weights] = [new Float64Array(size), new Float64Array(size)];
  for (let i = 0; i < size; i++) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (size + 0.5));
    let slope = 1;
    for (let turn = 0; turn < 20; turn++) {
      let [before, value] = [1, x];
      for (let n = 2; n <= size; n++) [before, value] = [value, ((2 * n - 1) * x * value - (n - 1) * before) / n];
      slope = (size * (x * value - before)) / (x * x - 1);
      x -= value / slope;
      if (Math.abs(value / slope) < 1e-15) break;
    }
    nodes[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  const rule = { nodes, weights };
  rules.set(size, rule);
  return rule;
}
