import { logFormats } from "../catalogue/logFormats.ts";
import type { SignalSource } from "../contract/campaign.ts";
import { spanOf } from "../contract/campaignParts.ts";
import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Check } from "../foundation/checks.ts";
import { CounterpoiseError } from "../foundation/errors.ts";
import type { MissingSignal, RecordedSignal, Recording, SignalRequest } from "../foundation/recording.ts";
import type { SignalName } from "../foundation/tracks.ts";
import { extent } from "../numeric/descriptive.ts";
import { dropoutText } from "../report/text/numbers.ts";
import type { Effects } from "./effects.ts";
import { markerChecks } from "./markerChecks.ts";
import { besideManifest } from "./wholeText.ts";

/** Seconds beyond which the instants of one run's signal are no flight's: a day. */
const longestRun = 86_400;

/**
 * A signal whose instants span more than a day: a time in the wrong unit, or a stray record years away. Everything after
 * would be sized by it, so that it counts as missing.
 *
 * @returns null where the span is a flight's
 */
function endlessSignal({ signal, topic, received: { seconds } }: RecordedSignal): MissingSignal | null {
  const { low, high } = extent(seconds);
  if (!(high - low > longestRun)) return null;
  const middle = seconds[seconds.length >> 1]!;
  const far = seconds.reduce((count, at) => (Math.abs(at - middle) > longestRun / 2 ? count + 1 : count), 0);
  return {
    signal,
    topic,
    reason: "wrong-type",
    message: `${signal}: found instants from ${low} s to ${high} s after the log's start, ${far} of ${seconds.length} of them more than half a day from the middle one, expected the minutes of a flight`,
    hint:
      far < 0.1 * seconds.length
        ? "the log holds stray time stamps: leave them out by span:, or cut the records out"
        : "declare the unit of the time, such as `units: { t: us }`, or name the flight's part of the log by span:",
  };
}

/** What a run's logs gave. A fault of a log is a check, never an exception: no other run is stopped by it. */
export interface RunSignals {
  readonly signals: ReadonlyMap<SignalName, RecordedSignal>;
  /** settings of the autopilot at the start of its log; null where no log keeps any */
  readonly parameters: ReadonlyMap<string, number> | null;
  readonly checks: readonly Check[];
}

/** Reads all declared signals of a run from its log or logs. */
export async function readRunSignals(
  campaign: RunGrounds,
  run: MeasuredDeclaration,
  manifestPath: string,
  effects: Effects,
): Promise<RunSignals> {
  const signals = new Map<SignalName, RecordedSignal>();
  const checks: Check[] = [];
  let parameters: ReadonlyMap<string, number> | null = null;
  for (const [key, parts] of Object.entries(run.logs)) {
    const requests = requestsFor(campaign, key);
    if (requests.length === 0) continue;
    const paths = parts.map((part) => besideManifest(manifestPath, part));
    try {
      const recording = await effects.readLog(paths, requests, {
        span: spanOf(run, key),
        ...definitionsOf(campaign, manifestPath),
      });
      parameters ??= recording.parameters ?? null;
      for (const [name, signal] of recording.signals) {
        const endless = endlessSignal(signal);
        if (endless === null) signals.set(name, signal);
        checks.push(...(endless === null ? signalChecks(campaign, name, signal) : [missingCheck(campaign, endless)]));
      }
      checks.push(...recordingChecks(campaign, parts, recording));
    } catch (error) {
      if (!(error instanceof CounterpoiseError)) throw error;
      checks.push(unreadable(parts, error));
    }
  }
  return { signals, checks, parameters };
}

/** Where the definitions lie that the logs do not hold, as a reader is given them. */
export function definitionsOf(
  { definitions = [] }: Pick<RunGrounds, "definitions">,
  manifestPath: string,
): { definitions?: string[] } {
  return definitions.length === 0 ? {} : { definitions: definitions.map((path) => besideManifest(manifestPath, path)) };
}

function signalChecks(campaign: RunGrounds, name: SignalName, signal: RecordedSignal): Check[] {
  const granted = signal.notes !== undefined && signal.notes.length > 0 ? [takenForGranted(signal)] : [];
  return [...granted, ...markerChecks(signal, campaign.signals[name]?.markers ?? {})];
}

/** What a log as a whole gives rise to. */
function recordingChecks(campaign: RunGrounds, parts: readonly string[], recording: Recording): Check[] {
  const { missing, recovered, format, checks = [], dropouts } = recording;
  return [
    ...missing.map((each) => missingCheck(campaign, each)),
    ...(recovered === null ? [] : [recoveredCheck(parts, format, recovered)]),
    ...checks.map((check) => ofLog(parts, check)),
    ...(dropouts === undefined ? [] : [dropoutCheck(parts, dropouts)]),
  ];
}

/** The requests that go to one log of a run; key "" is the only log. */
function requestsFor(campaign: RunGrounds, key: string): SignalRequest[] {
  const sources = Object.entries(campaign.signals) as [SignalName, SignalSource][];
  return sources
    .filter(([, source]) => key === "" || source.log === key)
    .map(([signal, source]) => request(signal, source));
}

/** What a reader is asked for on behalf of one declared signal. */
export function request(signal: SignalName, source: SignalSource): SignalRequest {
  return {
    signal,
    topic: source.topic ?? "",
    ...(source.child === null ? {} : { child: source.child }),
    ...(source.body === undefined ? {} : { body: source.body }),
    ...(source.joint === null ? {} : { joint: source.joint }),
    ...(source.fields === null ? {} : { fields: source.fields }),
    ...(source.columns === null ? {} : { columns: source.columns }),
    ...(source.units === null ? {} : { units: source.units }),
    ...(source.markers === null ? {} : { markers: source.markers }),
  };
}

function missingCheck(campaign: RunGrounds, missing: MissingSignal): Check {
  const required = missing.signal === "vehicle_pose" || missing.signal === "vehicle_setpoint";
  const power = ["battery", "motors", "arm_effort"].includes(missing.signal);
  const consequence = required
    ? "the run cannot be scored"
    : missing.signal === "effector_pose" || missing.signal === "effector_command"
      ? "effector and arm are not scored"
      : missing.signal === "arm_phase"
        ? "cycles are not found by it"
        : "what rests on it is left out";
  return {
    code: "missing-signal",
    severity: required ? "unusable" : power ? "note" : "doubt",
    message: `${missing.message}; ${consequence}`,
    evidence: {
      signal: missing.signal,
      topic: missing.topic,
      reason: missing.reason,
      declared: Object.keys(campaign.signals).length,
    },
    hint: missing.hint,
  };
}

function takenForGranted({ signal, notes = [] }: RecordedSignal): Check {
  return {
    code: "frame-suspect",
    severity: "note",
    message: `${signal}: ${notes.join("; ")}`,
    evidence: { signal, decisions: notes.length },
    hint: "declare it on the signal, such as `units: { t: s, position: m }`",
  };
}

function recoveredCheck(parts: readonly string[], format: string, recovered: string): Check {
  return {
    code: "recovered",
    severity: "doubt",
    message: `${parts.join(", ")}: ${recovered}`,
    evidence: { log: parts.join(", ") },
    hint:
      format === logFormats.table.name
        ? "look at these rows; the end of the run is missing where the table was cut"
        : "the recorder was not closed properly; the end of the run may be missing",
  };
}

/** A finding of a reader, with the log as the manifest calls it. */
function ofLog(parts: readonly string[], check: Check): Check {
  const log = parts.join(", ");
  return { ...check, message: `${log}: ${check.message}`, evidence: { log, ...check.evidence } };
}

function dropoutCheck(parts: readonly string[], dropouts: { count: number; seconds: number }): Check {
  return {
    code: "gap",
    severity: "note",
    message: `${parts.join(", ")}: ${dropoutText(dropouts)}`,
    evidence: { log: parts.join(", "), ...dropouts },
    hint: "use a faster memory card, or log fewer topics",
  };
}

function unreadable(parts: readonly string[], error: CounterpoiseError): Check {
  return {
    code: "log-unreadable",
    severity: "unusable",
    message: `${error.place ?? parts.join(", ")}: ${error.message}`,
    evidence: { log: parts.join(", "), error: error.code },
    hint: error.hint ?? "check the path and copy the log again from the recorder",
  };
}
