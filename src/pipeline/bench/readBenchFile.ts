import { joinClocks } from "../../bench/joinClocks.ts";
import {
  type BenchDeclaration,
  type BenchReading,
  type BenchSource,
  benchChannels,
} from "../../contract/benchDeclaration.ts";
import type { BenchCheck } from "../../contract/benchEvaluation.ts";
import { benchSettings } from "../../contract/benchSettings.ts";
import { unitFactor } from "../../contract/manifest/quantity.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";
import type { RecordedSignal, Recording, SignalRequest } from "../../foundation/recording.ts";
import type { Effects } from "../effects.ts";
import { besideManifest } from "../wholeText.ts";

export interface ReadBenchFile {
  /** null where the file cannot be read: `checks` says why */
  readonly reading: BenchReading | null;
  readonly checks: readonly BenchCheck[];
}

/** Where the numbers of a wrench stand in messages, by type. */
const wrenchFields = ["wrench.", ""].map((before) =>
  Object.fromEntries(
    benchChannels.map((name) => [name, `${before}${name.startsWith("f") ? "force" : "torque"}.${name[1]}`]),
  ),
);

/**
 * Reads one file of the bench: the wrench in SI (or, of raw counts, over the counts that make a unit), sequence and status where
 * they are named, and the arm on the wrench's clock.
 *
 * The readers hand on any numbers by name (columns of a table, fields of messages); they are asked for under the name of a
 * signal that has no direction, so that nothing is turned on the way.
 *
 * @param logs  "" where the run has one log, else by name; paths as the manifest has them
 */
export async function readBenchFile(
  bench: BenchDeclaration,
  logs: Readonly<Record<string, readonly string[]>>,
  manifestPath: string,
  effects: Effects,
): Promise<ReadBenchFile> {
  const checks: BenchCheck[] = [];
  try {
    const wrench = await wrenchOf(bench, logs, manifestPath, effects);
    const { columns, faults } = inUnits(wrench, bench);
    checks.push(...faults);
    const arm = bench.signals.arm === null ? null : await armOf(bench.signals.arm, logs, manifestPath, effects);
    const marks =
      bench.signals.keyPhase === null
        ? null
        : (
            await signalOf(
              { signal: "motors", ...sourceRequest(bench.signals.keyPhase) },
              bench.signals.keyPhase,
              logs,
              manifestPath,
              effects,
            )
          ).received.seconds;
    const stamps = (signal: RecordedSignal) => signal.stamped ?? signal.received;
    const start = stamps(wrench);
    const since = (signal: RecordedSignal): Float64Array => {
      const own = stamps(signal);
      const apart = Number(own.epoch - start.epoch) / 1e9;
      return own.seconds.map((value) => value + apart);
    };
    const t = start.seconds;
    let track = arm === null ? null : { t: since(arm), x: arm.columns.x!, y: arm.columns.y!, z: arm.columns.z! };
    if (track !== null && bench.sameMotion) {
      const joined = joinClocks(t, columns, track, benchSettings);
      const sure = joined !== null && joined.explained > 0.5 && joined.rivalry < 0.9;
      checks.push(clockCheck(joined, sure));
      if (sure) track = { ...track, t: track.t.map((time) => time + joined.offset) };
    }
    const reading: BenchReading = {
      t,
      wrench: columns,
      sequence: wrench.columns.sequence ?? null,
      status: wrench.columns.status ?? null,
      arm: track,
      marks,
    };
    return { reading, checks };
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    checks.push({
      code: "log-unreadable",
      severity: "unusable",
      message: `${error.place === null ? Object.values(logs).flat().join(", ") : error.place}: ${error.message}`,
      evidence: {},
      hint: error.hint ?? "look at the file, and at `bench: signals`",
    });
    return { reading: null, checks };
  }
}

function clockCheck(joined: ReturnType<typeof joinClocks>, sure: boolean): BenchCheck {
  if (!sure || joined === null)
    return {
      code: "clocks-apart",
      severity: "unusable",
      message:
        joined === null
          ? "force and arm motion do not overlap: their clocks cannot be joined"
          : `force and arm motion agree nearly as well a cycle apart (${Math.round(100 * joined.explained)} % explained): their clocks cannot be joined`,
      evidence: joined === null ? {} : { explained: joined.explained, rivalry: joined.rivalry },
      hint: "record starts and stops in both, or log both on one clock",
    };
  return {
    code: "clocks-joined",
    severity: "note",
    message: `the two clocks were joined by force and motion: ${joined.offset.toFixed(4)} s apart, ${Math.round(100 * joined.explained)} % of the wrench explained`,
    evidence: { offset_s: joined.offset, explained: joined.explained, rivalry: joined.rivalry },
    hint: "the part of a force that is not in step with the arm cannot be judged then: it may be the offset",
  };
}

async function wrenchOf(
  bench: BenchDeclaration,
  logs: Readonly<Record<string, readonly string[]>>,
  manifestPath: string,
  effects: Effects,
): Promise<RecordedSignal> {
  const source = bench.signals.wrench;
  if (source.topic === null || source.fields !== null)
    return signalOf({ signal: "motors", ...sourceRequest(source) }, source, logs, manifestPath, effects);
  let fault: unknown = null;
  for (const fields of wrenchFields)
    try {
      return await signalOf({ signal: "motors", topic: source.topic, fields }, source, logs, manifestPath, effects);
    } catch (error) {
      fault ??= error;
    }
  throw fault;
}

function armOf(
  source: BenchSource,
  logs: Readonly<Record<string, readonly string[]>>,
  manifestPath: string,
  effects: Effects,
): Promise<RecordedSignal> {
  return signalOf({ signal: "effector_pose", ...sourceRequest(source) }, source, logs, manifestPath, effects);
}

function sourceRequest({ topic, fields, columns, units }: BenchSource): Omit<SignalRequest, "signal"> {
  return {
    topic: topic ?? "",
    ...(fields === null ? {} : { fields }),
    ...(columns === null ? {} : { columns }),
    ...(units === null ? {} : { units }),
  };
}

async function signalOf(
  request: SignalRequest,
  { log, units }: BenchSource,
  logs: Readonly<Record<string, readonly string[]>>,
  manifestPath: string,
  effects: Effects,
): Promise<RecordedSignal> {
  const key = log !== null && logs[log] !== undefined ? log : Object.keys(logs)[0]!;
  const parts = logs[key]!;
  const recording: Recording = await effects.readLog(
    parts.map((part) => besideManifest(manifestPath, part)),
    [request],
    {},
  );
  const found = recording.signals.get(request.signal);
  if (found !== undefined) return found;
  const missing = recording.missing[0];
  const words = { motors: "wrench", effector_pose: "arm" } as const;
  const name = words[request.signal as keyof typeof words] ?? request.signal;
  throw new CounterpoiseError(
    "missing-signal",
    (missing?.message ?? `found no ${name}`).replace(request.signal, name),
    { place: parts.join(", "), hint: missing?.hint ?? (units === null ? null : "look at `bench: signals`") },
  );
}

/** Spelled as headings of sensors do. */
const spellings: Readonly<Record<string, string>> = {
  nm: "N m",
  nmm: "N mm",
  ncm: "N cm",
  lb: "lbf",
  "in lbf": "lbf inch",
  "lbf in": "lbf inch",
  "lb in": "lbf inch",
  "in lb": "lbf inch",
  "lbf ft": "lbf ft",
  "ft lb": "lbf ft",
  kg: "kgf",
};

/** SI per unit of a force or a moment as a heading writes it; null where it is none; "counts" of raw ones. */
export function wrenchUnit(unit: string, kind: "force" | "moment"): number | "counts" | null {
  const plain = unit
    .trim()
    .replace(/^[[(]|[\])]$/g, "")
    .replace(/[-·*.]/g, " ")
    .replace(/\s+/g, " ")
    .trim();
  if (/^(counts?|cts|lsb|digits?|adc)$/i.test(plain)) return "counts";
  const known = unitFactor(spellings[plain.toLowerCase()] ?? plain);
  const wanted = unitFactor(kind === "force" ? "N" : "N m");
  if (known === null || wanted === null) return null;
  return known.dimensions.every((power, k) => power === wanted.dimensions[k]) ? known.factor : null;
}

/** The six channels in newtons and newton metres: by the manifest's units, else by those that the heading writes. */
function inUnits(
  wrench: RecordedSignal,
  { sensor, signals }: BenchDeclaration,
): { columns: BenchReading["wrench"]; faults: BenchCheck[] } {
  const faults: BenchCheck[] = [];
  const assumed: string[] = [];
  const columns = Object.fromEntries(
    benchChannels.map((name) => {
      const kind = name.startsWith("f") ? "force" : "moment";
      const { units } = signals.wrench;
      const written = units?.[name] ?? units?.[kind] ?? wrench.units?.[name] ?? null;
      const factor = written === null ? null : wrenchUnit(written, kind);
      const column = wrench.columns[name]!;
      if (sensor.counts !== null && (factor === null || factor === "counts"))
        return [name, column.map((value) => value / sensor.counts![kind])];
      if (factor === "counts") {
        faults.push({
          code: "counts",
          severity: "unusable",
          message: `${name} is written in raw counts, and nothing says how many make a unit`,
          evidence: { channel: name },
          hint: "declare `sensor: counts`, as the sensor's calibration says",
        });
        return [name, column];
      }
      if (written !== null && factor === null)
        faults.push({
          code: "counts",
          severity: "unusable",
          message: `${name} is written in ${JSON.stringify(written)}, which is no unit of a ${kind}`,
          evidence: { channel: name },
          hint: "declare `signals: wrench: units`, such as { force: N, moment: N mm }",
        });
      // messages of ROS are in SI by their definition
      if (written === null && wrench.units !== undefined) assumed.push(name);
      return [name, factor === null || factor === 1 ? column : column.map((value) => value * factor)];
    }),
  ) as unknown as BenchReading["wrench"];
  if (assumed.length > 0)
    faults.push({
      code: "counts",
      severity: "doubt",
      message: `nothing says the unit of ${assumed.join(", ")}: taken for N and N m`,
      evidence: {},
      hint: "declare `signals: wrench: units: { force: N, moment: N m }`",
    });
  return { columns, faults };
}
