import {
  type BenchReading,
  type BenchSensor,
  benchChannels,
  type KnownMass,
  type Tap,
} from "../contract/benchDeclaration.ts";
import type { BenchCheck } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import { standardGravity, type Vector3 } from "../foundation/units.ts";
import { mean, median, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { type RingDown, ringDown } from "./resonance.ts";
import { cross, exertedByArm, type Wrench } from "./wrench.ts";

/** Units that benches write and are read in by mistake: SI per unit, and what it would be called. */
const forceUnits = [
  [4.4482216152605, "lbf"],
  [9.80665, "kgf"],
  [0.00980665, "gf"],
  [1000, "kN"],
  [0.001, "mN"],
  [1e-6, "counts of a millionth of a newton"],
] as const;
const momentUnits = [
  [0.001, "N mm"],
  [0.01, "N cm"],
  [0.112984829027617, "lbf in"],
  [1.3558179483314, "lbf ft"],
  [9.80665, "kgf m"],
  [0.0980665, "kgf cm"],
  [1e-6, "counts of a millionth of a newton metre"],
] as const;

/** The unit that a factor speaks for, within 7 %; null where none does. */
export function unitOfFactor(kind: "force" | "moment", factor: number): string | null {
  const units: readonly (readonly [number, string])[] = kind === "force" ? forceUnits : momentUnits;
  return units.find(([size]) => Math.abs(factor / size - 1) < 0.07)?.[1] ?? null;
}

/**
 * Holds the sensor against a mass hung on and taken off: F = -m g z and M = r x F about the arm base. What is wrong is named, with
 * the factor or the turn that would mend it; a moment that is only a lever off shows where the lever is.
 *
 * The stretch with the mass is that in which the force differs from how the file begins.
 *
 * @param reading  sensor axes, SI
 * @source statics; the weight of a mass at standard gravity
 */
export function knownMassChecks(
  reading: BenchReading,
  sensor: BenchSensor,
  declared: KnownMass,
  settings: BenchSettings,
): BenchCheck[] {
  const found = hungWrench(reading, sensor);
  const weight = declared.mass * standardGravity;
  const at = `${declared.log}: ${Math.round(1000 * declared.mass)} g`;
  if (found === null)
    return [
      fault(
        "known-mass",
        "doubt",
        `${at}: no stretch is seen in which the mass hangs`,
        {},
        "let it hang still for at least two seconds, and be off at the beginning of the file",
      ),
    ];
  const { force, moment } = found;
  const floor = sensor.crossTalk === null || sensor.fullScale === null ? 0 : sensor.crossTalk;
  const ofScale = (full: number): number =>
    sensor.fullScale === null ? 0 : (floor * weight * full) / sensor.fullScale.force[2];
  const tolerance = settings.known_mass_share * weight + ofScale(Math.max(...(sensor.fullScale?.force ?? [0])));
  const evidence = {
    weight_n: weight,
    force_n: [...force].map((value) => round(value)),
    moment_nm: [...moment].map((value) => round(value)),
  };
  const wanted = cross(declared.at, [0, 0, -weight]);
  if (Math.hypot(force[0], force[1], force[2] + weight) > tolerance)
    return [
      fault(
        "known-mass",
        "unusable",
        `${at} is to weigh ${weight.toFixed(3)} N downwards; the sensor shows (${force.map((value) => value.toPrecision(4)).join(", ")}) N: ${whyForce(force, moment, { weight, wanted })}`,
        evidence,
        "correct `sensor`, or the units of the forces, and weigh again",
      ),
    ];
  const off = [moment[0] - wanted[0], moment[1] - wanted[1]] as const;
  const lever = [-off[1] / -weight, off[0] / -weight] as const;
  const size = Math.hypot(...wanted);
  const allowed =
    settings.known_mass_share * size +
    ofScale(Math.max(...(sensor.fullScale?.moment ?? [0]))) +
    settings.lever_off * weight;
  if (Math.hypot(moment[0] - wanted[0], moment[1] - wanted[1], moment[2] - wanted[2]) <= allowed) return [];
  const scale = size === 0 ? Number.NaN : Math.hypot(...moment) / size;
  const unit = unitOfFactor("moment", 1 / scale);
  const flipped = [0, 1].filter((k) => Math.abs(moment[k]! + wanted[k]!) < allowed && Math.abs(wanted[k]!) > allowed);
  if (unit !== null || flipped.length > 0)
    return [
      fault(
        "known-mass",
        "unusable",
        `${at} at (${declared.at.map((value) => Math.round(1000 * value)).join(", ")}) mm makes a moment of (${wanted.map((value) => value.toPrecision(3)).join(", ")}) N m; the sensor shows (${moment.map((value) => value.toPrecision(3)).join(", ")}): ${unit !== null ? `as if moments were written in ${unit} (factor ${(1 / scale).toPrecision(4)})` : `the moment about ${flipped.map((k) => "xy"[k]).join(" and ")} has the other sign: a left-handed frame, or a flipped channel`}`,
        evidence,
        "correct the units of the moments or the sensor's axes",
      ),
    ];
  return [
    fault(
      "lever",
      "doubt",
      `${at}: the moment speaks for a place ${(1000 * lever[0]).toFixed(0)} mm further along x and ${(1000 * lever[1]).toFixed(0)} mm along y than declared: the sensor's place in the arm base, or the mass's, is off`,
      { ...evidence, x_m: lever[0], y_m: lever[1] },
      "measure `sensor: at: translation` again; two places of the mass tell a lever from a misplaced mass",
    ),
  ];
}

function whyForce(force: Vector3, moment: Vector3, { weight, wanted }: { weight: number; wanted: Vector3 }): string {
  const sizes = force.map(Math.abs);
  const size = Math.hypot(...force);
  const along = sizes.indexOf(Math.max(...sizes));
  const unit = unitOfFactor("force", weight / size);
  const factor =
    unit === null ? null : `as if forces were written in ${unit} (factor ${(weight / size).toPrecision(4)})`;
  if (sizes[along]! > 0.9 * size && along !== 2)
    return `the weight shows along ${"xyz"[along]}: the sensor's axes are not as declared${factor === null ? "" : `; and ${factor}`}`;
  if (along === 2 && force[2] > 0) {
    const largest = Math.abs(wanted[0]) >= Math.abs(wanted[1]) ? 0 : 1;
    const alike = moment[largest]! * wanted[largest]! > 0;
    const why =
      alike && largest === 0
        ? "the sensor is upside down to how it is declared"
        : "the sign is the other one (`sensor: sign`), or the sensor is upside down";
    return factor === null ? why : `${why}; and ${factor}`;
  }
  if (factor !== null) return factor;
  if (Math.abs(size / weight - 1) < 0.05) return "the sensor leans: its axes are not as declared";
  return `a factor of ${(weight / size).toPrecision(4)} is missing, which is no unit's`;
}

/** Mean wrench with the mass on less that with it off, about the arm base; null where no step is seen. */
function hungWrench(reading: BenchReading, sensor: BenchSensor): Wrench | null {
  const exerted = exertedByArm(reading.wrench, sensor, [0, 0, 0]);
  const { t } = reading;
  const span = t.at(-1)! - t[0]!;
  const block = Math.max(4, Math.floor((0.25 * t.length) / Math.max(span, 0.25)));
  const blocks: number[][] = [];
  for (let from = 0; from + block <= t.length; from += block)
    blocks.push(benchChannels.map((name) => mean(exerted[name].subarray(from, from + block))));
  if (blocks.length < 8) return null;
  const level = (of: readonly number[][], c: number): number => median(Float64Array.from(of, (values) => values[c]!));
  const start = [0, 1, 2].map((c) => level(blocks.slice(0, 3), c));
  const apart = blocks.map((values) => Math.hypot(...[0, 1, 2].map((c) => values[c]! - start[c]!)));
  const largest = Math.max(...apart);
  const hung = blocks.filter((_, i) => apart[i]! > 0.6 * largest);
  const off = blocks.filter((_, i) => apart[i]! < 0.2 * largest);
  const noise = median(Float64Array.from(apart.slice(0, 3)));
  if (hung.length < 4 || off.length < 3 || !(largest > 6 * noise)) return null;
  const [fx, fy, fz, mx, my, mz] = benchChannels.map((_, c) => level(hung, c) - level(off, c)) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return { force: [fx, fy, fz], moment: [mx, my, mz] };
}

/** Stretch from the blow over which impulses are summed, seconds: what rings on after it sums to next to nothing. */
const tapWindow = 0.5;

/** What a blow at a known place shows. */
export interface TapResult {
  readonly ring: RingDown | null;
  readonly checks: readonly BenchCheck[];
  /** whether the lever's height was held against it */
  readonly lever: boolean;
}

/**
 * One blow on the mounted arm: natural frequency and damping along its direction, and the lever's height from the impulses of moment
 * and force. Over the whole ring-down the base takes up what the blow brought, however the arm swings in between:
 *
 *   z = integral of My / integral of Fx   (blow along x; for one along y: minus that of Mx over Fy)
 *
 * @source linear and angular momentum: Meriam, Kraige, Engineering Mechanics: Dynamics, art. 3/9, 3/10 (from memory)
 */
export function tapResult(reading: BenchReading, sensor: BenchSensor, tap: Tap, settings: BenchSettings): TapResult {
  const exerted = exertedByArm(reading.wrench, sensor, [0, 0, 0]);
  const { t } = reading;
  const rate = (t.length - 1) / (t.at(-1)! - t[0]!);
  const force = exerted[`f${tap.along}`];
  let at = 0;
  const rest = median(force);
  for (let i = 1; i < force.length; i++) if (Math.abs(force[i]! - rest) > Math.abs(force[at]! - rest)) at = i;
  const before = Math.max(0, at - Math.ceil(0.05 * rate));
  const nothing = (message: string): TapResult => ({
    ring: null,
    lever: false,
    checks: [
      fault(
        "resonance",
        "note",
        `${tap.log}: ${message}`,
        {},
        "strike the mounted arm once, with a soft hammer, after a second at rest",
      ),
    ],
  });
  if (before < 10) return nothing("no rest before the blow");
  const level = mean(force.subarray(0, before));
  const noise = sampleStandardDeviation(force.subarray(0, before));
  const ring = ringDown(
    force.subarray(before).map((value) => value - level),
    rate,
    noise,
  );
  if (tap.along === "z")
    return { ring, lever: false, checks: ring === null ? nothing("no ring-down stands above the noise").checks : [] };
  const other = tap.along === "x" ? exerted.my : exerted.mx;
  const base = mean(other.subarray(0, before));
  const end = Math.min(force.length, before + Math.ceil(tapWindow * rate));
  let [impulse, angular] = [0, 0];
  for (let i = before; i < end; i++) {
    impulse += force[i]! - level;
    angular += (tap.along === "x" ? 1 : -1) * (other[i]! - base);
  }
  // of a sum of n readings about a level from as many others: noise of both
  const n = end - before;
  const spread = Math.sqrt(n + (n * n) / before);
  const clear = Math.abs(impulse) > 20 * noise * spread;
  const height = angular / impulse;
  const off = height - tap.at[2];
  const error =
    (spread * Math.hypot(sampleStandardDeviation(other.subarray(0, before)), height * noise)) / Math.abs(impulse);
  const checks: BenchCheck[] = [];
  if (clear && Math.abs(off) > settings.lever_off + 3 * error)
    checks.push(
      fault(
        "lever",
        "doubt",
        `${tap.log}: the blow seems to be ${(1000 * height).toFixed(0)} mm above the arm base, it is declared at ${(1000 * tap.at[2]).toFixed(0)} mm: the height of \`sensor: at\` is off by ${(1000 * off).toFixed(0)} mm`,
        { found_m: height, declared_m: tap.at[2], se_m: error },
        "measure the sensor's measuring origin again: makers count it from different faces",
      ),
    );
  if (ring === null) checks.push(...nothing("no ring-down stands above the noise").checks);
  return { ring, lever: clear, checks };
}

function fault(
  code: BenchCheck["code"],
  severity: BenchCheck["severity"],
  message: string,
  evidence: BenchCheck["evidence"],
  hint: string,
): BenchCheck {
  return { code, severity, message, evidence, hint };
}

const round = (value: number): number => Number(value.toPrecision(6));
