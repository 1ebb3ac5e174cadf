import type { RunEvaluation, SubjectTracking } from "../contract/evaluation.ts";
import type { Check } from "../foundation/checks.ts";
import { type Axis, axes } from "../foundation/signals.ts";

/** `at-noise`: axes on which a run's rms is less than `ratio` noise sd, so that what is scored is mostly the capture. */
export function noiseCheck(
  tracking: RunEvaluation["tracking"],
  noise: { vehicle: Readonly<Record<Axis, number>> | null; effector: Readonly<Record<Axis, number>> | null },
  ratio: number,
): Check[] {
  const scored: SubjectTracking | null = tracking.cycles ?? tracking.hold;
  if (scored === null) return [];
  const low: string[] = [];
  const evidence: Record<string, number> = {};
  for (const body of ["vehicle", "effector"] as const) {
    const figures = scored[body];
    const sd = noise[body];
    if (!figures || sd === null) continue;
    for (const axis of axes) {
      if (figures[axis].rms >= ratio * sd[axis]) continue;
      low.push(`${body} ${axis}`);
      evidence[`${body}_${axis}_rms_m`] = figures[axis].rms;
      evidence[`${body}_${axis}_noise_m`] = sd[axis];
    }
  }
  if (low.length === 0) return [];
  return [
    {
      code: "at-noise",
      severity: "note",
      message: `rms below ${ratio} times the measurement noise: ${low.join(", ")}`,
      evidence,
      hint: "a difference there says more about the capture than about the vehicle",
    },
  ];
}
