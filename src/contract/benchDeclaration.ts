import type { PointTrack } from "../foundation/tracks.ts";
import type { Hertz, Kilograms, Quaternion, Seconds, Vector3 } from "../foundation/units.ts";

/** The six channels of a force/torque sensor: forces in newtons, moments in newton metres. */
export const benchChannels = ["fx", "fy", "fz", "mx", "my", "mz"] as const;
export type BenchChannel = (typeof benchChannels)[number];

/** The low-pass of the measuring device: Butterworth, or as many equal first-order stages (`rc`). */
export interface SensorFilter {
  readonly kind: "low-pass" | "rc";
  readonly order: number;
  /** -3 dB of the whole */
  readonly cutoff: Hertz;
}

export interface BenchSensor {
  /** measuring origin and axes, in the arm base */
  readonly at: { readonly translation: Vector3; readonly rotation: Quaternion };
  /** whose wrench is logged: the one that the arm exerts on the sensor, or the one on the arm */
  readonly sign: "on_sensor" | "on_arm";
  /** per axis; null where not declared: neither saturation nor cross-talk is judged */
  readonly fullScale: { readonly force: Vector3; readonly moment: Vector3 } | null;
  /** share of full scale; null where not declared */
  readonly crossTalk: number | null;
  /** raw counts per unit, SI: counts per newton and per newton metre; null where the log is in units */
  readonly counts: { readonly force: number; readonly moment: number } | null;
  /** in the device; `none` where there is none; null where nobody says */
  readonly filter: SensorFilter | "none" | null;
  readonly calibrated: string | null;
}

/** Where a signal of the bench stands in the file. */
export interface BenchSource {
  readonly topic: string | null;
  readonly log: string | null;
  readonly columns: Readonly<Record<string, string>> | null;
  readonly fields: Readonly<Record<string, string>> | null;
  readonly units: Readonly<Record<string, string>> | null;
  readonly clock: string;
}

/** Speed as filed: the rate of the cycles, and the words it was filed in. */
export interface FiledSpeed {
  readonly rate: Hertz;
  readonly label: string;
}

export interface BenchRunDeclaration {
  readonly id: string;
  /** key "" where the run has one log, else the names of `logs`; each a list of parts */
  readonly logs: Readonly<Record<string, readonly string[]>>;
  readonly configuration: string;
  readonly trajectory: string;
  /** null where not filed: the trajectory's own */
  readonly speed: FiledSpeed | null;
  /** whole cycles that were run, as filed; null where not */
  readonly cycles: number | null;
  /** which mounting of the arm; null where not filed */
  readonly refit: string | null;
  /** of the sensor, degrees Celsius; null where not filed */
  readonly temperature: number | null;
  readonly exclude: string | null;
}

export interface KnownMass {
  readonly log: string;
  readonly mass: Kilograms;
  /** in the arm base */
  readonly at: Vector3;
}

export interface Tap {
  readonly log: string;
  readonly configuration: string;
  /** in the arm base */
  readonly at: Vector3;
  readonly along: "x" | "y" | "z";
}

/** The block `bench` of a manifest, SI, defaults filled in. */
export interface BenchDeclaration {
  readonly sensor: BenchSensor;
  /** moments are about it */
  readonly point: "sensor" | "arm_base" | "vehicle_com" | Vector3;
  readonly signals: {
    readonly wrench: BenchSource;
    readonly arm: BenchSource | null;
    readonly keyPhase: BenchSource | null;
  };
  /** rests at both ends of every file; null where an end has none */
  readonly tare: { readonly before: Seconds | null; readonly after: Seconds | null };
  /** the two clocks are joined by force and arm acceleration */
  readonly sameMotion: boolean;
  readonly knownMass: readonly KnownMass[];
  readonly tap: readonly Tap[];
  readonly runs: readonly BenchRunDeclaration[];
}

/** What one file of the bench holds: columns of n readings, SI unless the log has counts; sensor axes. */
export interface BenchReading {
  /** seconds */
  readonly t: Float64Array;
  readonly wrench: Readonly<Record<BenchChannel, Float64Array>>;
  /** running number and status of the readings, where the device writes them */
  readonly sequence: Float64Array | null;
  readonly status: Float64Array | null;
  /** control point in the arm base, on its own clock; null where the file has none */
  readonly arm: PointTrack | null;
  /** instants of one mark a cycle, seconds */
  readonly marks: Float64Array | null;
}
