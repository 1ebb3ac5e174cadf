import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes, type Subject } from "../foundation/tracks.ts";
import { quantile } from "../numeric/descriptive.ts";
import { type Body, bodies } from "./fastMotion.ts";
import type { MeasuredRun } from "./measureOne.ts";

/**
 * `noise-apart`: runs that were not captured like the others of their trajectory. Noise adds to every rms, and a filter takes
 * motion out of it: where they differ between runs, so do the errors, whatever was flown.
 *
 * What is fast in a run is set against the quieter runs (lower quartile) and the louder ones (upper quartile): more than the quieter by
 * `noise_apart_ratio`, and adding more to the rms than it does there by `noise_apart_share` of the smallest difference, is noise;
 * less than the louder by `noise_filtered_ratio` is a filter. What shakes slower, while the arm rests, and is not the vehicle's motion
 * (`restingShake`) is set against the quieter runs alike. Which configuration a run is of is not asked.
 *
 * @param runs  the runs that count
 * @returns by run id
 */
export function noiseApart(campaign: Campaign, runs: readonly MeasuredRun[], settings: Settings): Map<string, Check[]> {
  const found = new Map<string, Check[]>();
  for (const trajectory of Object.keys(campaign.trajectories)) {
    const flown = runs.filter((run) => run.declaration.trajectory === trajectory);
    for (const body of bodies) {
      for (const sight of sights) {
        const known = flown.flatMap((run) => seenOf(run, body, sight));
        if (known.length < 3) continue;
        for (const [run, check] of checksOf(campaign, body, known, sight, settings)) {
          const { id } = run.declaration;
          // what is fast shakes in both sights: said once
          if (found.get(id)?.some(({ evidence }) => evidence.body === body)) continue;
          found.set(id, [...(found.get(id) ?? []), check]);
        }
      }
    }
  }
  return found;
}

const sights = ["fast", "shake"] as const;
type Sight = (typeof sights)[number];

interface Seen {
  readonly run: MeasuredRun;
  readonly sd: Readonly<Record<Axis, number>>;
  readonly rms: Readonly<Record<Axis, number>>;
}

function seenOf(run: MeasuredRun, body: Body, sight: Sight): Seen[] {
  const sd = run[sight][body];
  const figures = (run.measures.tracking.cycles ?? run.measures.tracking.hold)?.[body];
  if (sd === null || !figures) return [];
  return [{ run, sd, rms: { x: figures.x.rms, y: figures.y.rms, z: figures.z.rms } }];
}

/** By how much noise raises an rms. */
const added = ({ sd, rms }: Seen, axis: Axis): number =>
  rms[axis] - Math.sqrt(Math.max(0, rms[axis] ** 2 - sd[axis] ** 2));

function checksOf(
  campaign: Campaign,
  body: Body,
  known: readonly Seen[],
  sight: Sight,
  settings: Settings,
): [MeasuredRun, Check][] {
  const at = (share: number, of: (seen: Seen) => number): number => quantile(Float64Array.from(known, of), share);
  const usual = axes.map((axis) => ({
    axis,
    quiet: at(0.25, ({ sd }) => sd[axis]),
    loud: at(0.75, ({ sd }) => sd[axis]),
    quietlyAdded: at(0.25, (seen) => added(seen, axis)),
  }));
  return known.flatMap((seen): [MeasuredRun, Check][] => {
    const limit = (axis: Axis): number =>
      settings.noise_apart_share * (campaign.smallestDifference[body] ?? seen.rms[axis]);
    const noisy = usual.filter(
      ({ axis, quiet, quietlyAdded }) =>
        seen.sd[axis] > settings.noise_apart_ratio * quiet && added(seen, axis) - quietlyAdded > limit(axis),
    );
    const worst = noisy.sort((a, b) => added(seen, b.axis) - added(seen, a.axis))[0];
    if (worst !== undefined)
      return [
        [
          seen.run,
          describeNoise(
            sight,
            body,
            seen,
            worst.axis,
            worst.quiet,
            noisy.map(({ axis }) => axis),
          ),
        ],
      ];
    const filtered =
      sight === "fast" && usual.every(({ axis, loud }) => seen.sd[axis] * settings.noise_filtered_ratio < loud);
    return filtered ? [[seen.run, describeFilter(body, seen, usual[0]!.loud)]] : [];
  });
}

const bodiesAndArm: readonly Subject[] = [...bodies, "arm"];
const millimetres = (metres: number): string => (1e3 * metres).toPrecision(2);

function describeNoise(
  sight: Sight,
  body: Body,
  seen: Seen,
  axis: Axis,
  quiet: number,
  touched: readonly Axis[],
): Check {
  const what = {
    fast: "what shakes faster than it can fly",
    shake: `what shakes ${body === "vehicle" ? "without the tilt that would move it" : "beside the vehicle that carries it"} while the arm rests`,
  }[sight];
  return {
    code: "noise-apart",
    severity: "doubt",
    message: `${body}: ${what} is ${millimetres(seen.sd[axis])} mm along ${axis} (sd), where quieter runs have ${millimetres(quiet)} mm; that alone raises the rms by ${millimetres(added(seen, axis))} mm`,
    evidence: { body, axis, [`${sight}_sd_m`]: seen.sd[axis], usual_sd_m: quiet, added_rms_m: added(seen, axis) },
    hint:
      sight === "fast"
        ? "look at what was otherwise with the capture: a camera lost, markers loose or hidden by the counterweights, another calibration"
        : "look for a loose marker tree, or an arm that swings on its mount: film it, or tap it; where the tool really moves so, accept it with the reason",
    // up and down no tilt tells which of the two shakes
    touches: {
      subjects: sight === "shake" && body === "effector" && touched.includes("z") ? bodiesAndArm : [body, "arm"],
      axes: touched,
    },
  };
}

function describeFilter(body: Body, seen: Seen, loud: number): Check {
  return {
    code: "noise-apart",
    severity: "doubt",
    message: `${body}: the capture's noise is ${millimetres(seen.sd.x)} mm along x (sd), where other runs have ${millimetres(loud)} mm: it was filtered or filled in, and what a filter takes out of the motion, or delays, is in no error`,
    evidence: { body, axis: "x", fast_sd_m: seen.sd.x, usual_sd_m: loud },
    hint: "export all runs with the same settings, unfiltered",
    touches: { subjects: [body, "arm"] },
  };
}
