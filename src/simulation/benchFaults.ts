import { type BenchChannel, type BenchReading, benchChannels } from "../contract/benchDeclaration.ts";
import { randomStream } from "./attitude.ts";

/** What the faults need to know of the run. */
interface StandTimes {
  /** at rest before and after, seconds */
  readonly rest: readonly [number, number];
  readonly sensor: { readonly rate: number };
  readonly faults: readonly StandFault[];
}

/** What goes wrong on benches. Where a fault is one of the declaration (a sensor filed upside down), what is logged is turned. */
export type StandFault =
  | { readonly kind: "saturated"; readonly channel: BenchChannel; readonly limit: number }
  | { readonly kind: "constant"; readonly channel: BenchChannel }
  | { readonly kind: "sequence-gap"; readonly at: number; readonly samples: number }
  | { readonly kind: "status"; readonly at: number; readonly samples: number }
  | { readonly kind: "swapped"; readonly channels: readonly [BenchChannel, BenchChannel] }
  /** written in other units than filed: factor on forces, on moments (N mm: 1 and 1000; counts: 1e6 both) */
  | { readonly kind: "scale"; readonly force: number; readonly moment: number }
  | { readonly kind: "flipped"; readonly channels: readonly BenchChannel[] }
  | { readonly kind: "one-sample-tare" }
  | { readonly kind: "loose-mount"; readonly size: number }
  | { readonly kind: "cable-tug"; readonly channel: BenchChannel; readonly size: number }
  | { readonly kind: "jitter"; readonly share: number };

/** The six channels that a sensor mounted upside down (half a turn about x) shows with the other sign. */
export const upsideDown: StandFault = { kind: "flipped", channels: ["fy", "fz", "my", "mz"] };
/** A left-handed frame: y the other way, for force and moment alike. */
export const leftHanded: StandFault = { kind: "flipped", channels: ["fy", "my"] };

/** The reading with its faults; the one handed in is not changed. */
export function addStandFaults(reading: BenchReading, settings: StandTimes, seed: number): BenchReading {
  return settings.faults.reduce((found, fault) => withFault(found, fault, settings, seed), reading);
}

function withFault(reading: BenchReading, fault: StandFault, settings: StandTimes, seed: number): BenchReading {
  const { wrench, t } = reading;
  const changed = (of: (column: Float64Array, name: BenchChannel) => Float64Array): BenchReading => ({
    ...reading,
    wrench: Object.fromEntries(benchChannels.map((name) => [name, of(wrench[name], name)])) as BenchReading["wrench"],
  });
  const one = (name: BenchChannel, of: (value: number, i: number) => number): BenchReading =>
    changed((column, each) => (each === name ? column.map(of) : column));
  switch (fault.kind) {
    case "saturated":
      return one(fault.channel, (value) => Math.max(-fault.limit, Math.min(fault.limit, value)));
    case "constant":
      return one(fault.channel, () => wrench[fault.channel][0]!);
    case "swapped": {
      const [a, b] = fault.channels;
      return changed((column, name) => (name === a ? wrench[b] : name === b ? wrench[a] : column));
    }
    case "scale":
      return changed((column, name) => {
        const factor = name.startsWith("f") ? fault.force : fault.moment;
        return column.map((value) => value * factor);
      });
    case "flipped":
      return changed((column, name) => (fault.channels.includes(name) ? column.map((value) => -value) : column));
    case "one-sample-tare":
      return changed((column) => column.map((value) => value - column[0]!));
    case "status":
      return {
        ...reading,
        status: t.map((time) => (time >= fault.at && time < fault.at + fault.samples / settings.sensor.rate ? 4 : 0)),
      };
    case "sequence-gap":
      return without(reading, (i) => {
        const first = Math.round(fault.at * settings.sensor.rate);
        return i >= first && i < first + fault.samples;
      });
    case "jitter": {
      const random = randomStream(seed, "jitter");
      const step = fault.share / settings.sensor.rate;
      return { ...reading, t: t.map((time) => time + step * (random.uniform() - 0.5) * 2) };
    }
    case "cable-tug": {
      const up = goingUp(reading);
      return one(fault.channel, (value, i) => (up(t[i]!) > 0 ? value - fault.size : value));
    }
    case "loose-mount":
      return rattling(reading, settings, fault.size);
  }
}

function without(reading: BenchReading, lost: (i: number) => boolean): BenchReading {
  const kept = (column: Float64Array): Float64Array => column.filter((_, i) => !lost(i));
  return {
    ...reading,
    t: kept(reading.t),
    wrench: Object.fromEntries(
      benchChannels.map((name) => [name, kept(reading.wrench[name])]),
    ) as BenchReading["wrench"],
    sequence: reading.sequence && kept(reading.sequence),
    status: reading.status && kept(reading.status),
  };
}

/** Direction of the arm's furthest travel at an instant, smoothed over its noise: 1 up, -1 down, 0 at rest. */
function goingUp({ arm }: BenchReading): (time: number) => number {
  if (arm === null) return () => 0;
  const spread = (column: Float64Array): number => Math.max(...column) - Math.min(...column);
  const column = [arm.x, arm.y, arm.z].reduce((a, b) => (spread(b) > spread(a) ? b : a));
  const reach = Math.max(2, Math.round(arm.t.length / (arm.t.at(-1)! - arm.t[0]!) / 20));
  const least = 0.01 * spread(column);
  return (time) => {
    const i = Math.round(((time - arm.t[0]!) / (arm.t.at(-1)! - arm.t[0]!)) * (arm.t.length - 1));
    const step = column[Math.min(column.length - 1, i + reach)]! - column[Math.max(0, i - reach)]!;
    return Math.abs(step) < least ? 0 : Math.sign(step);
  };
}

/** Play in the mount: wherever the main force turns about, the arm knocks, rings at 23 Hz, and sits a little elsewhere. */
function rattling(reading: BenchReading, settings: StandTimes, size: number): BenchReading {
  const { t } = reading;
  const up = goingUp(reading);
  const knocks: number[] = [];
  for (let i = 1; i < t.length; i++) if (up(t[i]!) !== 0 && up(t[i]!) !== up(t[i - 1]!)) knocks.push(t[i]!);
  const ring = (time: number): number =>
    knocks.reduce((sum, at, k) => {
      const since = time - at;
      if (since < 0 || since > 1) return sum;
      return sum + (k % 2 === 0 ? 1 : -1) * Math.exp(-since / 0.08) * Math.sin(2 * Math.PI * 23 * since);
    }, 0);
  const rings = t.map(ring);
  const sinks = t.map((time) => (size * 0.4 * Math.max(0, time - settings.rest[0])) / (t.at(-1)! - settings.rest[0]));
  return {
    ...reading,
    wrench: Object.fromEntries(
      benchChannels.map((name) => {
        const share = name.startsWith("f") ? size : 0.1 * size;
        const column = reading.wrench[name];
        return [name, column.map((value, i) => value + share * rings[i]! + (share / size) * sinks[i]!)];
      }),
    ) as BenchReading["wrench"],
  };
}
