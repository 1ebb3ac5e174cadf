import type { Campaign } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { mean } from "../numeric/descriptive.ts";
import { studentTCdf } from "../numeric/studentT.ts";
import type { MeasuredRun } from "./measureOne.ts";

/**
 * `bodies-apart` of all runs of a configuration or block together: their mean lag against their scatter, by Student's t with the
 * scatter pooled within configuration and block. A run alone needs a hold of ten seconds to show it (`bodiesApart`).
 *
 * @param runs  the runs that count
 * @returns by run id
 */
export function bodiesTogether(
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
