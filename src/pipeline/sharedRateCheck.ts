import type { AlignedRun } from "../alignment/alignRun.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check, Evidence } from "../foundation/checks.ts";
import { axes } from "../foundation/signals.ts";
import { rateAtRest } from "../metrics/rateAtRest.ts";
import { sliceErrors } from "./windowSlices.ts";

/**
 * `shared-rate`: the vehicle moves at the cycle rate or a multiple of it while the arm rests. Air or controller share the
 * rate then, and the synchronous error of the cycles is not the arm's alone.
 *
 * Only amplitudes that chance does not explain (over all axes and harmonics together) and that are no trifle beside those
 * of the cycles.
 */
export function sharedRateCheck(
  run: AlignedRun,
  synchronous: RunEvaluation["synchronous"],
  settings: Settings,
): Check[] {
  const track = run.subjects.vehicle;
  const flown = synchronous?.vehicle;
  if (track === undefined || flown === undefined || run.hold === null || run.period === null) return [];
  const { t, x, y, z } = sliceErrors(track, run.hold);
  const atRest = rateAtRest(t, [x, y, z], run.hold, run.period, {
    harmonics: settings.harmonics,
    neighbours: settings.harmonic_neighbours,
  });
  if (atRest === null) return [];
  const shared: string[] = [];
  const evidence: Record<string, Evidence[string]> = { rate_hz: 1 / run.period };
  axes.forEach((axis, a) => {
    for (const { k, amplitude, p } of atRest[a]!) {
      const moving = flown[axis].harmonics[k - 1]!.amplitude;
      if (p > settings.shared_rate_p / (axes.length * settings.harmonics)) continue;
      if (amplitude < settings.shared_rate_share * moving) continue;
      shared.push(
        `${axis} at ${k} times the rate (${millimetres(amplitude)} mm at rest, ${millimetres(moving)} mm in the cycles)`,
      );
      evidence[`${axis}_${k}_at_rest_m`] = amplitude;
      evidence[`${axis}_${k}_in_cycles_m`] = moving;
      evidence[`${axis}_${k}_p`] = p;
    }
  });
  if (shared.length === 0) return [];
  return [
    {
      code: "shared-rate",
      severity: "doubt",
      message: `the vehicle moves at the rate of the cycles while the arm rests: ${shared.join(", ")}`,
      evidence,
      hint: "air or controller share the rate: what they do and what the arm does cannot be told apart in the synchronous error; fly the cycles at another rate",
    },
  ];
}

function millimetres(metres: number): string {
  return (1e3 * metres).toPrecision(2);
}
