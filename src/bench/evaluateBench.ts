import {
  type BenchChannel,
  type BenchDeclaration,
  type BenchReading,
  benchChannels,
  type KnownMass,
  type SensorFilter,
  type Tap,
} from "../contract/benchDeclaration.ts";
import type { BenchCheck, BenchCheckCode, BenchEvaluation, BenchRunEvaluation } from "../contract/benchEvaluation.ts";
import { type BenchSettings, benchSettings } from "../contract/benchSettings.ts";
import type { Axis } from "../foundation/tracks.ts";
import { standardGravity, type Vector3 } from "../foundation/units.ts";
import { type BenchPair, benchCells, peaksOf } from "./benchCells.ts";
import { apparentByRefit, axesOf, gravityChannel, type MeasuredBenchRun, readingsOf, travelOf } from "./benchRuns.ts";
import { closureChecks, closureOf, gravityByRefit, massChecks, temperatureChecks } from "./benchSuspicions.ts";
import { knownMassChecks, tapResult } from "./knownMass.ts";
import { type BenchMeasure, measureBenchRun } from "./measureBenchRun.ts";
import { gravityAndInertia, growthExponent, overRefits } from "./refits.ts";
import { runSuspicions } from "./runSuspicions.ts";

/** A bench as read from its files. */
export interface BenchInput extends BenchPair {
  readonly bench: BenchDeclaration;
  /** where `point` is, in the arm base */
  readonly point: Vector3;
  /** in the order of the manifest; null where the file cannot be read, with why; `filed` is what was found wrong on the way */
  readonly runs: readonly {
    readonly reading: BenchReading | null;
    readonly filed: readonly BenchCheck[];
    /** cycle rate as filed, else the trajectory's own; null where neither says */
    readonly rate: number | null;
  }[];
  readonly knownMass: readonly { readonly declared: KnownMass; readonly reading: BenchReading }[];
  readonly tap: readonly { readonly declared: Tap; readonly reading: BenchReading }[];
  /** apparent moving mass by the mass ledger, kg; null where it does not say */
  readonly expected: (configuration: string, axis: Axis) => number | null;
}

/**
 * A whole bench: each run measured, sensor held against known mass, tap and closure, reductions over refits, growth with speed.
 */
export function evaluateBench(input: BenchInput, settings: BenchSettings = benchSettings): BenchEvaluation {
  const { bench, point } = input;
  const taps = input.tap.map(({ declared, reading }) => ({
    declared,
    result: tapResult(reading, bench.sensor, declared, settings),
  }));
  const checks: BenchCheck[] = [
    ...input.knownMass.flatMap(({ declared, reading }) => knownMassChecks(reading, bench.sensor, declared, settings)),
    ...taps.flatMap(({ result }) => result.checks),
  ];
  const resonance = taps.flatMap(({ declared, result }) =>
    result.ring === null
      ? []
      : [
          {
            configuration: declared.configuration,
            axis: declared.along,
            frequency: result.ring.frequency,
            damping: result.ring.damping,
          },
        ],
  );
  checks.push(...apartChecks(resonance, input, settings));
  const runs = measuredRuns(input, resonance, settings);
  const good = runs.filter(({ used }) => used);
  checks.push(...temperatureChecks(good, input, settings));
  const groups = groupsOf(good);
  const closure = groups.flatMap((group) => closureOf(group, bench.sensor, settings));
  checks.push(...closureChecks(closure, input.baseline));
  for (const group of groups) {
    const isBaseline = group.configuration === input.baseline;
    const own = groups.find(
      ({ trajectory, configuration }) => trajectory === group.trajectory && configuration === input.baseline,
    );
    const size = own === undefined ? null : largestMass(own.runs, settings);
    checks.push(...massChecks(group, isBaseline, size, bench.sensor, settings));
  }
  const suspicions = runSuspicions(good, input.baseline, bench.sensor, settings);
  const checked = runs.map((one) => ({
    ...one,
    checks: [...one.checks, ...suspicions.filter(({ id }) => id === one.run.id).map(({ check }) => check)],
  }));
  const unusable = checks.some(({ severity }) => severity === "unusable");
  // a bench that does not weigh what it is given weighs nothing
  const judged = unusable ? checked.map((one) => ({ ...one, used: false })) : checked;
  const doubted = checks.filter(({ severity }) => severity === "doubt").map(({ code }) => code as BenchCheckCode);
  return {
    checks,
    sensor: {
      at: { translation: [...bench.sensor.at.translation], rotation: [...bench.sensor.at.rotation] },
      sign: bench.sensor.sign,
      filter: filterText(bench.sensor.filter),
      calibrated: bench.sensor.calibrated,
    },
    point: { name: typeof bench.point === "string" ? bench.point : "declared", at: [...point] },
    resonance,
    runs: described(judged, unusable),
    cells: benchCells(judged, input, { sensor: bench.sensor, bench: doubted }, settings),
    moving: groups.flatMap((group) => movingOf(group, input, settings)),
    growth: groups.flatMap((group) => growthOf(group, settings)),
    closure,
    unchecked: uncheckedOf(input, taps, closure),
    settings: { ...settings },
  };
}

function measuredRuns(
  input: BenchInput,
  resonance: BenchEvaluation["resonance"],
  settings: BenchSettings,
): MeasuredBenchRun[] {
  const { bench, point } = input;
  return bench.runs.map((run, i): MeasuredBenchRun => {
    const { reading, filed, rate } = input.runs[i]!;
    const own = resonance.filter(({ configuration }) => configuration === run.configuration);
    const lowest = own.length === 0 ? null : Math.min(...own.map(({ frequency }) => frequency));
    const context = { sensor: bench.sensor, point, tare: bench.tare, rate, resonance: lowest };
    const nothing: BenchMeasure = {
      cycles: null,
      channels: null,
      first: null,
      driftLeft: null,
      atRest: null,
      apparent: {},
      checks: [],
    };
    const measure = reading === null ? nothing : measureBenchRun(reading, context, settings);
    const checks = [...filed, ...measure.checks];
    const used = run.exclude === null && reading !== null && !checks.some(({ severity }) => severity === "unusable");
    return { run, measure, checks, used };
  });
}

function described(runs: readonly MeasuredBenchRun[], unusable: boolean): BenchRunEvaluation[] {
  return runs.map(({ run, measure, checks, used }): BenchRunEvaluation => {
    const { cycles, channels } = measure;
    const like = runs.filter(
      (other) => other.used && other.run.trajectory === run.trajectory && other.run.speed?.rate === run.speed?.rate,
    );
    const common = Math.min(
      ...like.map((other) => other.measure.cycles?.cycles ?? Number.POSITIVE_INFINITY),
      cycles?.cycles ?? 0,
    );
    const resultant = (kind: "f" | "m", band: "cycle" | "full"): number =>
      Math.hypot(...["x", "y", "z"].map((axis) => channels![`${kind}${axis}` as BenchChannel].rms[band]));
    return {
      id: run.id,
      log: Object.values(run.logs).flat().join(", "),
      configuration: run.configuration,
      trajectory: run.trajectory,
      speed: run.speed?.rate ?? null,
      speed_label: run.speed?.label ?? null,
      refit: run.refit,
      period: cycles?.period ?? null,
      cycles: cycles?.cycles ?? 0,
      used,
      excluded_because:
        run.exclude ??
        (used
          ? null
          : (checks.find(({ severity }) => severity === "unusable")?.message ??
            (unusable ? "the sensor does not show a known mass" : "it cannot be read"))),
      checks: [...checks],
      travel:
        cycles === null
          ? null
          : { x: [...cycles.travel.x[0]!], y: [...cycles.travel.y[0]!], z: [...cycles.travel.z[0]!] },
      channels:
        channels === null
          ? null
          : (Object.fromEntries(
              benchChannels.map((name) => {
                const { mean, drift, harmonics, rms, highest, lowest } = channels[name];
                const peaks = common > 0 ? peaksOf({ highest, lowest }, common) : { peak: null, peak_to_peak: null };
                return [
                  name,
                  {
                    mean,
                    drift,
                    harmonics: harmonics.map((one) => ({ ...one, cov: [...one.cov] as [number, number, number] })),
                    rms,
                    ...peaks,
                  },
                ];
              }),
            ) as NonNullable<BenchRunEvaluation["channels"]>),
      resultant:
        channels === null
          ? null
          : {
              force: { cycle: resultant("f", "cycle"), full: resultant("f", "full") },
              moment: { cycle: resultant("m", "cycle"), full: resultant("m", "full") },
            },
      apparent_mass:
        channels === null
          ? null
          : Object.fromEntries(
              Object.entries(measure.apparent).map(([axis, { k, value, se }]) => [
                axis,
                { k, re: value[0], im: value[1], se },
              ]),
            ),
    };
  });
}

interface Group {
  readonly trajectory: string;
  readonly configuration: string;
  readonly runs: readonly MeasuredBenchRun[];
}

function groupsOf(runs: readonly MeasuredBenchRun[]): Group[] {
  const keys = [...new Set(runs.map(({ run }) => `${run.trajectory}\0${run.configuration}`))];
  return keys.map((key) => {
    const [trajectory, configuration] = key.split("\0") as [string, string];
    const own = runs.filter(({ run }) => run.trajectory === trajectory && run.configuration === configuration);
    return { trajectory, configuration, runs: own };
  });
}

function largestMass(runs: readonly MeasuredBenchRun[], settings: BenchSettings): number | null {
  const sizes = axesOf(runs, settings).flatMap((axis) => apparentByRefit(runs, axis).map(({ re }) => Math.abs(re)));
  return sizes.length === 0 ? null : Math.max(...sizes);
}

function movingOf(
  { trajectory, configuration, runs }: Group,
  { expected }: BenchInput,
  settings: BenchSettings,
): BenchEvaluation["moving"] {
  return axesOf(runs, settings).flatMap((axis) => {
    const masses = apparentByRefit(runs, axis);
    const own = { trajectory, axis, configuration, expected: expected(configuration, axis) };
    const found: BenchEvaluation["moving"] = [];
    const force = overRefits(
      masses.map(({ re }) => re),
      settings.interval_level,
    );
    if (force !== null)
      found.push({
        ...own,
        from: "force",
        refits: masses.length,
        value: force.value,
        ci95: pairOf(force.ci95),
        imaginary: overRefits(
          masses.map(({ im }) => im),
          settings.interval_level,
        )!.value,
      });
    if (axis === "z") return found;
    const { channel, sign } = gravityChannel[axis];
    const byGravity = gravityByRefit(runs, channel, settings).map(({ value }) => (sign * value) / standardGravity);
    const gravity = overRefits(byGravity, settings.interval_level);
    if (gravity !== null)
      found.push({
        ...own,
        from: "gravity moment",
        refits: byGravity.length,
        value: gravity.value,
        ci95: pairOf(gravity.ci95),
        imaginary: null,
      });
    return found;
  });
}

function growthOf({ trajectory, configuration, runs }: Group, settings: BenchSettings): BenchEvaluation["growth"] {
  return benchChannels.flatMap((channel): BenchEvaluation["growth"] => {
    const axis = travelOf[channel];
    if (axis === undefined || !axesOf(runs, settings).includes(axis)) return [];
    const place = { trajectory, channel, configuration };
    if (channel.startsWith("f")) {
      const found = growthExponent(
        readingsOf(runs, channel, "size", settings),
        settings.least_speeds,
        settings.interval_level,
      );
      if (found === null) return [];
      return [
        { ...place, exponent: found.value, ci95: pairOf(found.ci95), df: found.df, gravity: null, inertial: null },
      ];
    }
    const found = gravityAndInertia(
      readingsOf(runs, channel, "real", settings),
      settings.least_speeds,
      settings.interval_level,
    );
    if (found === null) return [];
    const { gravitational, inertial } = found;
    return [
      {
        ...place,
        exponent: null,
        ci95: null,
        df: gravitational.df,
        gravity: { value: gravitational.value, ci95: pairOf(gravitational.ci95) },
        inertial: { value: inertial.value, ci95: pairOf(inertial.ci95) },
      },
    ];
  });
}

const pairOf = (interval: readonly [number, number] | null): [number, number] | null =>
  interval === null ? null : [interval[0], interval[1]];

/** Counterweights change what rings: where two configurations' own frequencies differ, part of a reduction is the stand's. */
function apartChecks(resonance: BenchEvaluation["resonance"], pair: BenchPair, settings: BenchSettings): BenchCheck[] {
  return (["x", "y", "z"] as const).flatMap((axis): BenchCheck[] => {
    const [b, c] = [pair.baseline, pair.candidate].map((name) =>
      resonance.find((each) => each.configuration === name && each.axis === axis),
    );
    if (b === undefined || c === undefined) return [];
    const apart = c.frequency / b.frequency - 1;
    if (Math.abs(apart) < settings.resonance_apart) return [];
    return [
      {
        code: "resonance-apart",
        severity: "note",
        message: `along ${axis} the stand rings at ${b.frequency.toFixed(1)} Hz with ${pair.baseline} and at ${c.frequency.toFixed(1)} Hz with ${pair.candidate}: at 1 Hz this alone changes forces by ${(100 * (1 / (1 - c.frequency ** -2) - 1 / (1 - b.frequency ** -2))).toFixed(2)} %`,
        evidence: { baseline_hz: b.frequency, candidate_hz: c.frequency },
        hint: "keep the cycle rate and its harmonics well below a fifth of the lower one",
      },
    ];
  });
}

/** What no measurement of this bench was held against: nobody can tell whether it is right. */
function uncheckedOf(
  { bench, knownMass }: BenchInput,
  taps: readonly { readonly declared: Tap; readonly result: { readonly lever: boolean; readonly ring: unknown } }[],
  closure: BenchEvaluation["closure"],
): string[] {
  const places = new Set(knownMass.map(({ declared }) => declared.at.join()));
  return [
    ...(knownMass.length === 0 ? ["scale of the forces (no known mass)"] : []),
    ...(places.size < 2 ? ["horizontal lever (fewer than two places of a known mass)"] : []),
    ...(taps.some(({ result }) => result.lever) ? [] : ["height of the lever (no tap at a known place)"]),
    ...(taps.some(({ result }) => result.ring !== null) ? [] : ["resonance of the stand (no tap)"]),
    ...(closure.some(({ ratio }) => ratio !== null)
      ? []
      : ["closure of force and moment (fewer than three speeds, and no creep run)"]),
    ...(bench.sensor.crossTalk === null || bench.sensor.fullScale === null ? ["cross-talk (not declared)"] : []),
    ...(bench.sensor.filter === null ? ["filter of the device (not declared)"] : []),
  ];
}

function filterText(filter: SensorFilter | "none" | null): string {
  if (filter === null) return "not declared";
  if (filter === "none") return "none";
  return `${filter.kind}, order ${filter.order}, ${filter.cutoff} Hz`;
}
