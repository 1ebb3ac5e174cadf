import type { AlignedRun } from "../alignment/alignRun.ts";
import { meanPlace } from "../alignment/clock/bodiesApart.ts";
import { pointOnBody } from "../alignment/frames.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { PointTrack } from "../foundation/tracks.ts";
import { responseDelay } from "../metrics/responseDelay.ts";
import { lowerBound } from "../numeric/lowerBound.ts";
import { mean } from "../numeric/mean.ts";
import { studentTCdf } from "../numeric/studentTCdf.ts";
import type { MeasuredRun } from "./measureOne.ts";

/** Lags are looked for up to this, seconds; a hover that moves by less than this shows none, metres. */
const farthest = 0.1;
const leastMotion = 1e-4;
/** A hover moves below some 1 Hz; seconds. */
const smoothing = 0.15;

/**
 * By how much the tool's stamps come after the vehicle's, by the motion that both make while the arm rests: the shift at which the
 * tool lies best where the vehicle carries it. Of one short hover it is good to some milliseconds; several runs tell more.
 *
 * @returns seconds; null without a hold, a tool or a measured attitude, or where the hover shows none
 */
export function bodiesLag({ hold, vehicle, bodies: { effector } }: AlignedRun): number | null {
  if (hold === null || vehicle === null || effector === undefined) return null;
  const place = meanPlace(vehicle, effector, hold);
  if (place === null) return null;
  // smoothed alike, which shifts neither: between two samples the noise of a straight line is less, and would draw the lag there
  const seen = smoothed(within(effector, hold));
  const carried = smoothed(within(pointOnBody(vehicle, place), [hold[0] - farthest, hold[1] + farthest]));
  return responseDelay(
    {
      t: seen.t,
      measured: [seen.x, seen.y, seen.z],
      commandTimes: carried.t,
      command: [carried.x, carried.y, carried.z],
    },
    { from: -farthest, to: farthest, rival: 0, leastMotion },
  );
}

function within({ t, x, y, z }: PointTrack, [from, to]: readonly [number, number]): PointTrack {
  const [a, b] = [lowerBound(t, from), lowerBound(t, to)];
  return { t: t.subarray(a, b), x: x.subarray(a, b), y: y.subarray(a, b), z: z.subarray(a, b) };
}

/** Centred moving means over about `smoothing`. */
function smoothed({ t, x, y, z }: PointTrack): PointTrack {
  const half = Math.round((0.5 * smoothing * (t.length - 1)) / (t.at(-1)! - t[0]!));
  const smooth = (column: Float64Array): Float64Array =>
    column.map((_, i) => {
      const side = Math.min(half, i, column.length - 1 - i);
      return mean(column.subarray(i - side, i + side + 1));
    });
  return t.length < 2 ? { t, x, y, z } : { t, x: smooth(x), y: smooth(y), z: smooth(z) };
}

/**
 * `bodies-apart` of all runs of a configuration or block together: their mean lag against their scatter, by Student's t with the
 * scatter pooled within configuration and block. A run alone needs a hold of ten seconds to show it (`bodiesApart`).
 *
 * @param runs  the runs that count
 * @returns by run id
 */
export function bodiesApartTogether(
  campaign: Campaign,
  runs: readonly MeasuredRun[],
  settings: Settings,
): Map<string, Check[]> {
  const found = new Map<string, Check[]>();
  const seen = runs.filter(({ bodiesLag: lag }) => lag !== null);
  const { scatter, freedom } = pooledScatter(seen);
  if (freedom < 2) return found;
  const lagsOf = (groups: Map<string, MeasuredRun[]>): void => {
    for (const [name, own] of groups) {
      const lag = mean(Float64Array.from(own, ({ bodiesLag: one }) => one!));
      const error = scatter / Math.sqrt(own.length);
      const p = 2 * studentTCdf(-Math.abs(lag) / error, freedom);
      if (own.length < 2 || !(Math.abs(lag) > settings.bodies_apart) || p > settings.bodies_apart_p) continue;
      for (const { declaration, checks } of own) {
        const isSaid = checks.some(({ code }) => code === "bodies-apart");
        if (!isSaid) found.set(declaration.id, [describe(name, own.length, lag, error)]);
      }
    }
  };
  lagsOf(by(seen, ({ configuration }) => campaign.configurations[configuration]?.label ?? configuration));
  // a block is late as a whole, not for the configurations in it
  if (found.size === 0)
    lagsOf(
      by(
        seen.filter(({ declaration }) => declaration.block !== null),
        ({ block }) => `block ${block}`,
      ),
    );
  return found;
}

function describe(name: string, runs: number, lag: number, error: number): Check {
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  return {
    code: "bodies-apart",
    severity: "doubt",
    message: `while the arm rests both bodies move as one, but over the ${runs} runs of ${name} the stamps of effector_pose lie ${milliseconds(Math.abs(lag))} ms (standard error ${milliseconds(error)} ms) ${lag > 0 ? "after" : "before"} those of vehicle_pose at the same instant of that motion`,
    evidence: { apart_s: lag, apart_se_s: error, runs, of: name },
    hint: "look at what stamps the two bodies in these runs: two drivers, a filter on one of them, or receipt over another network; stamp both with the capture's own time of the frame",
    // the vehicle's error does not know the tool
    touches: { subjects: ["effector", "arm"] },
  };
}

/** Of the lags within configuration and block, seconds, and its degrees of freedom. */
function pooledScatter(runs: readonly MeasuredRun[]): { scatter: number; freedom: number } {
  let [squares, freedom] = [0, 0];
  for (const own of by(runs, ({ configuration, block }) => JSON.stringify([configuration, block])).values()) {
    const lags = Float64Array.from(own, ({ bodiesLag: lag }) => lag!);
    const centre = mean(lags);
    squares += lags.reduce((sum, lag) => sum + (lag - centre) ** 2, 0);
    freedom += own.length - 1;
  }
  return { scatter: Math.sqrt(squares / freedom), freedom };
}

function by(
  runs: readonly MeasuredRun[],
  keyOf: (declaration: MeasuredRun["declaration"]) => string,
): Map<string, MeasuredRun[]> {
  const groups = new Map<string, MeasuredRun[]>();
  for (const run of runs) {
    const key = keyOf(run.declaration);
    groups.set(key, [...(groups.get(key) ?? []), run]);
  }
  return groups;
}
