import type { BenchChannel, BenchSensor } from "../contract/benchDeclaration.ts";
import type { BenchCheck, BenchEvaluation } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import type { Axis } from "../foundation/tracks.ts";
import { standardGravity } from "../foundation/units.ts";
import { mean, median } from "../numeric/descriptive.ts";
import {
  amplitudeOf,
  apparentByRefit,
  axesOf,
  byRefit,
  crossTalkFloor,
  gravityChannel,
  isCreep,
  type MeasuredBenchRun,
  readingsOf,
  refitOf,
} from "./benchRuns.ts";
import { unitOfFactor } from "./knownMass.ts";
import { quotient } from "./phasor.ts";
import { gravityAndInertia, overRefits, ratioOverRefits } from "./refits.ts";

/** What one trajectory's runs of one configuration are held against. */
interface Group {
  readonly trajectory: string;
  readonly configuration: string;
  readonly runs: readonly MeasuredBenchRun[];
}

/**
 * Closure of the bench: the moment by which gravity answers the arm's travel (alpha, from three speeds or a creep run) against the
 * moving mass that the force shows, z up:
 *
 *   alpha_My = g u_x,   alpha_Mx = - g u_y
 *
 * Force and moment come through different channels and units, so their agreement shows moments in N mm, forces in pounds,
 * swapped or flipped single channels, a sensor upside down, a left-handed frame. It cannot see the sign of the whole, a turn about
 * the vertical, the lever, or one factor on all.
 *
 * @returns where both are known; the ratio is 1 where they agree, by Fieller over refits
 */
export function closureOf(
  { trajectory, configuration, runs }: Group,
  sensor: BenchSensor,
  settings: BenchSettings,
): BenchEvaluation["closure"] {
  return axesOf(runs, settings).flatMap((axis) => {
    if (axis === "z") return [];
    const { channel, sign } = gravityChannel[axis];
    const gravity = gravityByRefit(runs, channel, settings);
    const masses = apparentByRefit(runs, axis);
    if (gravity.length === 0 || masses.length === 0) return [];
    const expected = masses.map(({ refit, re }) => ({ refit, value: sign * standardGravity * re }));
    const found = ratioOverRefits(expected, gravity, settings.interval_level);
    return [
      {
        configuration,
        trajectory,
        channel,
        ratio: found.ratio,
        ci95: found.ci95 === null ? null : ([...found.ci95] as [number, number]),
        tolerance: settings.closure_share + crossTalkShare(runs, [channel, `f${axis}`], sensor, settings),
      },
    ];
  });
}

/** Gravity's part of a moment over travel, by refit: from three speeds, else from creep runs alone. */
export function gravityByRefit(
  runs: readonly MeasuredBenchRun[],
  channel: BenchChannel,
  settings: BenchSettings,
): { readonly refit: string; readonly value: number }[] {
  const fitted = gravityAndInertia(
    readingsOf(runs, channel, "real", settings),
    settings.least_speeds,
    settings.interval_level,
  );
  if (fitted !== null) return fitted.refits.map(({ refit, gravitational }) => ({ refit, value: gravitational }));
  const slow = runs.filter((run) => isCreep(run, settings));
  return [...new Set(slow.map(refitOf))].flatMap((refit) => {
    const own = readingsOf(
      slow.filter((run) => refitOf(run) === refit),
      channel,
      "real",
      settings,
    );
    return own.length === 0 ? [] : [{ refit, value: mean(Float64Array.from(own, ({ value }) => value)) }];
  });
}

/** What cross-talk may do to channels, each as a share of its own amplitude, added up; at the fastest runs. */
function crossTalkShare(
  runs: readonly MeasuredBenchRun[],
  channels: readonly BenchChannel[],
  sensor: BenchSensor,
  settings: BenchSettings,
  quadrature: Axis | null = null,
): number {
  const fast = runs.filter((run) => !isCreep(run, settings));
  const shares = channels.map((channel) =>
    fast.flatMap((run) => {
      const floor = crossTalkFloor(run, channel, sensor, quadrature);
      const own = amplitudeOf(run, channel);
      return floor === null || own === null || own === 0 ? [] : [floor / own];
    }),
  );
  return shares.reduce((sum, each) => sum + (each.length === 0 ? 0 : median(Float64Array.from(each))), 0);
}

/** Closures that fail, each with what would mend it. */
export function closureChecks(closure: BenchEvaluation["closure"], baseline: string): BenchCheck[] {
  return closure
    .filter(({ configuration, ratio, ci95, tolerance }) => {
      if (configuration !== baseline || ratio === null) return false;
      const clear = ci95 === null || ci95[0] > 1 || ci95[1] < 1;
      return clear && Math.abs(ratio - 1) > tolerance;
    })
    .map(({ trajectory, channel, ratio, ci95 }): BenchCheck => {
      const size = Math.abs(ratio!);
      const unit = unitOfFactor("moment", 1 / size);
      const force = unitOfFactor("force", size);
      const why =
        unit !== null
          ? `as if moments were written in ${unit} (a factor of ${(1 / size).toPrecision(4)} mends it)`
          : force !== null
            ? `as if forces were written in ${force} (a factor of ${size.toPrecision(4)} on forces mends it)`
            : ratio! < 0
              ? "one of the two has the other sign: a flipped channel, a sensor upside down, or a left-handed frame"
              : "a channel that is swapped, a scale, or a mass that moves and does not swing";
      const signs = ratio! < 0 && (unit !== null || force !== null) ? "; and one of the two has the other sign" : "";
      return {
        code: "closure",
        severity: "doubt",
        message: `${trajectory}: the moment of gravity in ${channel} is ${ratio!.toPrecision(3)} times what the force says of it: ${why}${signs}`,
        evidence: { ratio: ratio!, low: ci95?.[0] ?? null, high: ci95?.[1] ?? null },
        hint: "look at units, order and signs of the channels, and at `sensor: at: rotation`",
      };
    });
}

/** What the baseline's moving mass says of the sensor: its sign, its turn about the vertical, whether it is in step with the arm. */
export function massChecks(
  group: Group,
  isBaseline: boolean,
  base: number | null,
  sensor: BenchSensor,
  settings: BenchSettings,
): BenchCheck[] {
  const { trajectory, configuration, runs } = group;
  const found: BenchCheck[] = [];
  for (const axis of axesOf(runs, settings)) {
    const masses = apparentByRefit(runs, axis);
    if (masses.length === 0) continue;
    const real = overRefits(
      masses.map(({ re }) => re),
      settings.interval_level,
    )!;
    const imaginary = overRefits(
      masses.map(({ im }) => im),
      settings.phase_level,
    )!;
    const size = Math.max(Math.abs(real.value), base ?? 0);
    if (isBaseline && real.value < 0 && (real.ci95 === null || real.ci95[1] < 0))
      found.push({
        code: "sign",
        severity: "doubt",
        message: `${trajectory}: along ${axis} the arm alone seems to move ${Math.round(1000 * real.value)} g, and no mass is below 0: the wrench's sign or the sensor's axes are the other way`,
        evidence: { axis, apparent_kg: real.value },
        hint: "`sensor: sign` says whose wrench is logged: on_sensor or on_arm",
      });
    const clear = imaginary.ci95 !== null && imaginary.ci95[0] * imaginary.ci95[1] > 0;
    const talk = crossTalkShare(runs, [`f${axis}`], sensor, settings, axis) * Math.abs(real.value);
    if (clear && Math.abs(imaginary.value) > settings.phase_share * size + talk)
      found.push({
        code: "phase",
        severity: "doubt",
        message: `${configuration}, ${trajectory}: along ${axis} ${Math.round((100 * Math.abs(imaginary.value)) / size)} % of the force stands a quarter of a cycle ${imaginary.value > 0 ? "before" : "after"} the arm, which no mass can do`,
        evidence: { axis, real_kg: real.value, imaginary_kg: imaginary.value },
        hint: "look for a delay between the two signals, a filter that is not declared, friction, or a cable",
      });
    if (isBaseline && axis !== "z") found.push(...turnedCheck(group, axis, sensor, settings));
  }
  return found;
}

/** Force across a travel along one horizontal axis alone: the sensor is turned about the vertical, or Fx and Fy are swapped. */
function turnedCheck(
  { trajectory, runs }: Group,
  axis: "x" | "y",
  sensor: BenchSensor,
  settings: BenchSettings,
): BenchCheck[] {
  const other = axis === "x" ? "y" : "x";
  if (axesOf(runs, settings).includes(other)) return [];
  const across = `f${other}` as BenchChannel;
  const parts = runs
    .filter((run) => !isCreep(run, settings) && run.measure.first !== null)
    .map((run) => {
      const travel = run.measure.cycles!.travel[axis][0]!;
      return {
        refit: refitOf(run),
        along: quotient(run.measure.first![`f${axis}`], travel)[0],
        across: quotient(run.measure.first![across], travel)[0],
      };
    });
  if (parts.length === 0) return [];
  const [along, aside] = (["along", "across"] as const).map((key) =>
    parts.map(({ refit, [key]: value }) => ({ refit, value })),
  ) as [{ refit: string; value: number }[], { refit: string; value: number }[]];
  const ratio = ratioOverRefits(meanByRefit(along), meanByRefit(aside), settings.interval_level);
  const [a, b] = [along, aside].map((each) => mean(Float64Array.from(each, ({ value }) => value))) as [number, number];
  const share = Math.abs(b) / Math.max(Math.abs(a), 1e-12);
  const allowed = settings.turned_share + crossTalkShare(runs, [`f${axis}`], sensor, settings);
  const clear = share > 3 || (ratio.ci95 !== null && ratio.ci95[0] * ratio.ci95[1] > 0);
  if (!clear || share <= allowed) return [];
  const angle = (180 / Math.PI) * Math.atan2(b, a);
  return [
    {
      code: "turned",
      severity: "doubt",
      message:
        share > 3
          ? `${trajectory}: the arm travels along ${axis}, and the force stands along ${other}: Fx and Fy are swapped, or the sensor is turned by a quarter about the vertical`
          : `${trajectory}: the arm travels along ${axis}, and ${Math.round(100 * share)} % of the force stands across: the sensor is turned by about ${angle.toFixed(0)} degrees about the vertical, or the arm's frame is`,
      evidence: { axis, across: share, angle_deg: angle },
      hint: "correct the columns, or `sensor: at: rotation` (yaw)",
    },
  ];
}

function meanByRefit(values: readonly { refit: string; value: number }[]): { refit: string; value: number }[] {
  return [...new Set(values.map(({ refit }) => refit))].map((refit) => ({
    refit,
    value: mean(
      Float64Array.from(
        values.filter((each) => each.refit === refit),
        ({ value }) => value,
      ),
    ),
  }));
}

/**
 * The sensor's temperature with the candidate against that with the baseline, mean over the refits that hold both: what warms up
 * between them moves scale and zero with the configuration, and no pairing takes it out.
 *
 * @returns none where temperatures are not filed
 */
export function temperatureChecks(
  runs: readonly MeasuredBenchRun[],
  pair: { readonly baseline: string; readonly candidate: string },
  settings: BenchSettings,
): BenchCheck[] {
  const of = (configuration: string): ReadonlyMap<string, number> =>
    new Map(
      byRefit(
        runs.filter(({ run }) => run.configuration === configuration),
        ({ run }) => run.temperature,
      ).map(({ refit, value }) => [refit, value]),
    );
  const [bare, weighted] = [of(pair.baseline), of(pair.candidate)];
  const apart = [...weighted].flatMap(([refit, value]) => (bare.has(refit) ? [value - bare.get(refit)!] : []));
  if (apart.length === 0) return [];
  const warmer = mean(Float64Array.from(apart));
  if (Math.abs(warmer) < settings.temperature_apart) return [];
  return [
    {
      code: "temperature-apart",
      severity: "note",
      message: `within the refits the sensor was ${Math.abs(warmer).toFixed(1)} K ${warmer > 0 ? "warmer" : "colder"} with ${pair.candidate} than with ${pair.baseline}: its scale and zero move with temperature`,
      evidence: { warmer_k: warmer, refits: apart.length },
      hint: "warm up before the first run, and change the order of the configurations from refit to refit",
    },
  ];
}
