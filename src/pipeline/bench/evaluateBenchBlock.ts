import { evaluateBench } from "../../bench/evaluateBench.ts";
import type { BenchDeclaration } from "../../contract/benchDeclaration.ts";
import type { BenchCheck, BenchEvaluation } from "../../contract/benchEvaluation.ts";
import type { Campaign } from "../../contract/campaign.ts";
import { centreOfMass, expectedMovingMass } from "../../contract/ledger.ts";
import { defaultSettings } from "../../contract/settings.ts";
import { ManifestError } from "../../foundation/errors.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { rotateVector } from "../../numeric/quaternion.ts";
import { diskEffects, type Effects } from "../effects.ts";
import { besideManifest } from "../wholeText.ts";
import { readBenchFile } from "./readBenchFile.ts";

export interface BenchProgress {
  readonly done: number;
  readonly total: number;
  readonly run: string;
}

/**
 * The bench of a manifest from its files; null where the manifest has none. A file that cannot be read is a check of its run and
 * stops no other; a known mass or a tap that cannot be read stands among the checks of the bench.
 */
export async function evaluateBenchBlock(
  campaign: Campaign,
  manifestPath: string,
  options: { readonly effects?: Effects; readonly onProgress?: (progress: BenchProgress) => void } = {},
): Promise<BenchEvaluation | null> {
  const { bench } = campaign;
  if (bench === undefined) return null;
  const effects = options.effects ?? diskEffects;
  const found = [];
  const seen = new Map<string, string>();
  for (const [i, run] of bench.runs.entries()) {
    options.onProgress?.({ done: i, total: bench.runs.length, run: run.id });
    const { reading, checks } = await readBenchFile(bench, run.logs, manifestPath, effects);
    const copied = reading === null ? null : await copyOf(run, seen, manifestPath, effects);
    const filed = copied === null ? checks : [...checks, copied];
    found.push({ reading, filed, rate: run.speed?.rate ?? null });
  }
  const extra: BenchCheck[] = [];
  const still = async <T extends { readonly log: string }>(declared: T) => {
    const { reading, checks } = await readBenchFile(alone(bench), { "": [declared.log] }, manifestPath, effects);
    if (reading === null) extra.push(...checks.map((check): BenchCheck => ({ ...check, severity: "doubt" })));
    return reading === null ? [] : [{ declared, reading }];
  };
  const knownMass = [];
  for (const each of bench.knownMass) knownMass.push(...(await still(each)));
  const tap = [];
  for (const each of bench.tap) tap.push(...(await still(each)));
  const evaluation = evaluateBench({
    baseline: campaign.baseline,
    candidate: campaign.candidate,
    bench,
    point: pointOf(campaign, bench),
    runs: found,
    knownMass,
    tap,
    expected: (configuration, axis) =>
      expectedMovingMass(
        campaign,
        configuration,
        ({ x: 0, y: 1, z: 2 } as const)[axis],
        defaultSettings.moving_mass_error,
      )?.value ?? null,
  });
  return { ...evaluation, checks: [...extra, ...evaluation.checks] };
}

/** The arm rests in these files: its signal is not looked for. */
const alone = (bench: BenchDeclaration): BenchDeclaration => ({
  ...bench,
  signals: { wrench: { ...bench.signals.wrench, log: null }, arm: null, keyPhase: null },
  sameMotion: false,
});

/** The same file filed again is no further refit. */
async function copyOf(
  { id, logs }: BenchDeclaration["runs"][number],
  seen: Map<string, string>,
  manifestPath: string,
  effects: Effects,
): Promise<BenchCheck | null> {
  const hashes = [];
  for (const part of Object.values(logs).flat()) hashes.push(await effects.sha256(besideManifest(manifestPath, part)));
  const key = hashes.join();
  const first = seen.get(key);
  if (first === undefined) {
    seen.set(key, id);
    return null;
  }
  return {
    code: "copied",
    severity: "unusable",
    message: `the same readings are filed as ${first} already`,
    evidence: { first },
    hint: "a copy is no further run: file the right log, or leave one out",
  };
}

/**
 * Where moments are about, in the arm base. The centre of mass is that of the vehicle with the baseline, known in the vehicle's
 * marker frame; the arm base's place counts from the body point.
 *
 * @throws ManifestError  code `manifest-invalid`: the centre of mass is not known
 */
function pointOf(campaign: Campaign, { point, sensor }: BenchDeclaration): Vector3 {
  if (point === "arm_base") return [0, 0, 0];
  if (point === "sensor") return sensor.at.translation;
  if (point !== "vehicle_com") return point;
  const { at, source } = centreOfMass(campaign, campaign.baseline);
  if (source === "body_point" && !campaign.frames.bodyPointDeclared)
    throw new ManifestError("manifest-invalid", "bench.point: found vehicle_com, and no centre of mass is declared", {
      hint: "declare `vehicle: com`, or moments about arm_base",
    });
  return inArmBase(campaign, at);
}

/** A point of the vehicle's marker frame in the arm base, which stands where it does from the body point. */
export function inArmBase({ frames }: Pick<Campaign, "frames">, at: Vector3): Vector3 {
  const { bodyPoint, armBase } = frames;
  const [x, y, z, w] = armBase.rotation;
  const apart: Vector3 = [0, 1, 2].map((k) => at[k]! - bodyPoint[k]! - armBase.translation[k]!) as unknown as Vector3;
  return rotateVector([-x, -y, -z, w], apart);
}
