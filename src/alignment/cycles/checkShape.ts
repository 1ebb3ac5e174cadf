import type { Trajectory } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check, Evidence } from "../../foundation/checks.ts";
import { axes } from "../../foundation/tracks.ts";
import { type Waveform, waveformExtent } from "./waveform.ts";

/**
 * Compares a commanded waveform with its declared circle or line: plane or axis, size, period.
 *
 * @param phaseOnly  it is no path in metres: only its period can be held against what is declared
 */
export function checkShape(wave: Waveform, declared: Trajectory, settings: Settings, phaseOnly = false): Check[] {
  const tolerance = settings.trajectory_tolerance;
  const problems: string[] = [];
  const evidence: Record<string, string | number> = { declared: declared.shape, found_period_s: wave.period };
  if (declared.shape !== "circle" && declared.shape !== "line") return [];
  evidence.declared_period_s = declared.period;
  if (Math.abs(wave.period / declared.period - 1) > tolerance) {
    problems.push(`period ${declared.period.toFixed(3)} s declared, ${wave.period.toFixed(3)} s commanded`);
  }
  if (phaseOnly) return problems.length === 0 ? [] : [wrong(problems, evidence)];
  if (declared.shape === "circle") checkCircle(wave, declared, tolerance, problems, evidence);
  else checkLine(wave, declared, tolerance, problems, evidence);
  return problems.length === 0 ? [] : [wrong(problems, evidence)];
}

function checkCircle(
  wave: Waveform,
  declared: Extract<Trajectory, { shape: "circle" }>,
  tolerance: number,
  problems: string[],
  evidence: Record<string, string | number>,
): void {
  const a = wave.cosines.map((column) => column[0]!);
  const b = wave.sines.map((column) => column[0]!);
  const normal = [a[1]! * b[2]! - a[2]! * b[1]!, a[2]! * b[0]! - a[0]! * b[2]!, a[0]! * b[1]! - a[1]! * b[0]!];
  const size = Math.hypot(normal[0]!, normal[1]!, normal[2]!);
  // a circle has |a| = |b| = radius and a at right angles to b, so |a x b| = radius^2
  const radius = Math.sqrt((square(a) + square(b)) / 2);
  evidence.declared_radius_m = declared.radius;
  evidence.found_radius_m = radius;
  if (Math.abs(radius / declared.radius - 1) > tolerance) {
    problems.push(
      `radius ${(1e3 * declared.radius).toFixed(1)} mm declared, ${(1e3 * radius).toFixed(1)} mm commanded`,
    );
  }
  if (size < (1 - 2 * tolerance) * radius * radius) {
    problems.push("the path is no circle");
    return;
  }
  const across = axes.findIndex((axis) => !declared.plane.includes(axis));
  const tilt = Math.acos(Math.min(1, Math.abs(normal[across]!) / size));
  evidence.declared_plane = declared.plane;
  evidence.tilt_from_plane_deg = (tilt * 180) / Math.PI;
  if (Math.sin(tilt) > tolerance) {
    const flattest = normal.map(Math.abs).indexOf(Math.max(...normal.map(Math.abs)));
    problems.push(
      `plane ${declared.plane} declared, the commanded circle is ${((tilt * 180) / Math.PI).toFixed(0)} degrees off it (nearest: ${axes.filter((_, i) => i !== flattest).join("")})`,
    );
  }
}

function checkLine(
  wave: Waveform,
  declared: Extract<Trajectory, { shape: "line" }>,
  tolerance: number,
  problems: string[],
  evidence: Record<string, string | number>,
): void {
  const extent = waveformExtent(wave);
  const along = axes.indexOf(declared.axis);
  const stroke = Math.hypot(extent[0], extent[1], extent[2]);
  evidence.declared_stroke_m = declared.stroke;
  evidence.found_stroke_m = stroke;
  evidence.declared_axis = declared.axis;
  if (Math.abs(stroke / declared.stroke - 1) > tolerance) {
    problems.push(
      `stroke ${(1e3 * declared.stroke).toFixed(1)} mm declared, ${(1e3 * stroke).toFixed(1)} mm commanded`,
    );
  }
  const aside = Math.hypot(...extent.filter((_, axis) => axis !== along));
  if (aside > tolerance * stroke) {
    const main = extent.indexOf(Math.max(...extent));
    problems.push(
      `axis ${declared.axis} declared, the command also moves ${(1e3 * aside).toFixed(1)} mm across it (most along ${axes[main]})`,
    );
  }
}

function square(v: readonly number[]): number {
  return v.reduce((sum, value) => sum + value * value, 0);
}

function wrong(problems: readonly string[], evidence: Evidence): Check {
  return {
    code: "wrong-trajectory",
    severity: "unusable",
    message: `the command does not match its declared trajectory: ${problems.join("; ")}`,
    evidence,
    hint: "check which trajectory this run flew, and the plane and axis in the command's frame",
  };
}
