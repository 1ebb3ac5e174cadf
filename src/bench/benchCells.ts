import { holm } from "../comparison/judgeFamily.ts";
import { type BenchSensor, benchChannels } from "../contract/benchDeclaration.ts";
import type { BenchCell, BenchCheckCode } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { amplitudeOf, byRefit, cellValue, crossTalkFloor, isCreep, type MeasuredBenchRun } from "./benchRuns.ts";
import { type RefitValue, ratioOverRefits } from "./refits.ts";

/** Doubts that can have made a reduction; a scale or a lever that is off cancels in it. */
const touching: readonly BenchCheckCode[] = [
  "sign",
  "closure",
  "over-scale",
  "phase",
  "turned",
  "period",
  "gap",
  "sequence-gap",
  "status",
  "stroke-uneven",
  "loose-mount",
  "resonance-apart",
  "clocks-apart",
  "drift",
];

export interface BenchPair {
  readonly baseline: string;
  readonly candidate: string;
}

/**
 * Reductions of the bench: trajectory x speed x channel, one number per refit and configuration. In the family stand the real part
 * of the first harmonic over travel in the channels that the travel drives; beside it, without a verdict, the rms of each band.
 * The family is the bench's own (Holm), never mixed with the flights'.
 *
 * A moment's reduction depends on speed, as gravity and inertia are reduced alike only by chance.
 *
 * @param bench  codes of doubts of the bench as a whole
 */
export function benchCells(
  runs: readonly MeasuredBenchRun[],
  pair: BenchPair,
  { sensor, bench }: { readonly sensor: BenchSensor; readonly bench: readonly BenchCheckCode[] },
  settings: BenchSettings,
): BenchCell[] {
  const used = runs.filter((run) => run.used && run.measure.channels !== null);
  const cells = groupsOf(used).flatMap((group) => {
    const sides = [pair.baseline, pair.candidate].map((name) =>
      group.runs.filter(({ run }) => run.configuration === name),
    );
    if (sides.some((side) => side.length === 0)) return [];
    const creep = group.runs.every((run) => isCreep(run, settings));
    return benchChannels.flatMap((channel) => {
      const place = { trajectory: group.trajectory, speed: group.speed, speed_label: group.label, channel };
      const found: BenchCell[] = [];
      const make = (
        harmonic: BenchCell["harmonic"],
        unit: BenchCell["unit"],
        of: (run: MeasuredBenchRun) => number | null,
      ): void => {
        const [b, c] = sides.map((side) => byRefit(side, of)) as [RefitValue[], RefitValue[]];
        if (b.length === 0 || c.length === 0) return;
        const inFamily = harmonic === 1;
        const shared = { ...place, harmonic, unit, ...compared(b, c, settings) };
        const doubts = inFamily ? doubtsOf(sides as [MeasuredBenchRun[], MeasuredBenchRun[]], bench) : [];
        found.push({
          ...shared,
          p_family: null,
          verdict: inFamily ? openVerdict(sides[0]!, shared, sensor) : null,
          doubts,
        });
      };
      if (!(creep && channel.startsWith("f")))
        make(1, channel.startsWith("f") ? "kg" : "N", (run) => cellValue(run, channel, settings));
      for (const band of ["cycle", "full"] as const)
        make(band, channel.startsWith("f") ? "N" : "N m", ({ measure }) => measure.channels![channel].rms[band]);
      return found;
    });
  });
  return judged(cells, settings);
}

/** Verdicts of what could be tested, by Holm over all cells of the family. */
function judged(cells: readonly BenchCell[], settings: BenchSettings): BenchCell[] {
  const family = cells.filter(({ verdict }) => verdict !== null);
  const adjusted = holm(family.map(({ p, verdict }) => (verdict === "within the noise" ? p : null)));
  return cells.map((cell) => {
    const place = family.indexOf(cell);
    if (place < 0) return cell;
    const p_family = adjusted[place]!;
    if (cell.verdict !== "within the noise") return { ...cell, p_family };
    if (cell.doubts.length > 0) return { ...cell, p_family, verdict: "doubted" };
    if (!(p_family < settings.family_level)) return { ...cell, p_family };
    const smaller = Math.abs(cell.candidate.mean) < Math.abs(cell.baseline.mean);
    return { ...cell, p_family, verdict: smaller ? "reduced" : "increased" };
  });
}

function openVerdict(
  baseline: readonly MeasuredBenchRun[],
  { channel, refits }: Pick<BenchCell, "channel" | "refits">,
  sensor: BenchSensor,
): BenchCell["verdict"] {
  const below = baseline.every((run) => {
    const floor = crossTalkFloor(run, channel, sensor);
    return floor !== null && (amplitudeOf(run, channel) ?? 0) < floor;
  });
  if (below) return "cross-talk";
  return refits < 3 ? "too few refits" : "within the noise";
}

function compared(b: readonly RefitValue[], c: readonly RefitValue[], settings: BenchSettings) {
  const found = ratioOverRefits(b, c, settings.interval_level);
  return {
    baseline: sideOf(b),
    candidate: sideOf(c),
    reduction: found.ratio === null ? null : 1 - found.ratio,
    ci95: found.ci95 === null ? null : ([1 - found.ci95[1], 1 - found.ci95[0]] as [number, number]),
    method: found.method,
    refits: found.refits,
    p: found.p,
  };
}

function sideOf(values: readonly RefitValue[]): BenchCell["baseline"] {
  const column = Float64Array.from(values, ({ value }) => value);
  return { n: values.length, mean: mean(column), sd: values.length < 2 ? null : sampleStandardDeviation(column) };
}

function doubtsOf(
  sides: readonly [readonly MeasuredBenchRun[], readonly MeasuredBenchRun[]],
  bench: readonly BenchCheckCode[],
): BenchCheckCode[] {
  return touching.filter(
    (code) =>
      bench.includes(code) ||
      // on half of a side's runs or more
      sides.some((side) => {
        const doubted = side.filter(({ checks }) =>
          checks.some((check) => check.code === code && check.severity === "doubt"),
        );
        return 2 * doubted.length >= side.length;
      }),
  );
}

/** Runs of one trajectory at one filed speed, in the order of the manifest. */
function groupsOf(runs: readonly MeasuredBenchRun[]): {
  readonly trajectory: string;
  readonly speed: number | null;
  readonly label: string | null;
  readonly runs: readonly MeasuredBenchRun[];
}[] {
  const groups = new Map<string, MeasuredBenchRun[]>();
  for (const one of runs) {
    const key = `${one.run.trajectory}\0${one.run.speed?.rate.toPrecision(6) ?? ""}`;
    groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return [...groups.values()].map((own) => {
    const { trajectory, speed } = own[0]!.run;
    return { trajectory, speed: speed?.rate ?? null, label: speed?.label ?? null, runs: own };
  });
}

/** The largest size over as many cycles as the shortest run of its kind has. */
export function peaksOf(
  { highest, lowest }: { readonly highest: readonly number[]; readonly lowest: readonly number[] },
  cycles: number,
): { readonly peak: number; readonly peak_to_peak: number } {
  const [high, low] = [Math.max(...highest.slice(0, cycles)), Math.min(...lowest.slice(0, cycles))];
  return { peak: Math.max(high, -low), peak_to_peak: high - low };
}
