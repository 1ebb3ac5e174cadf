import type { MeasureId } from "../catalogue/measures.ts";
import type { LabThreshold } from "../catalogue/thresholds.ts";
import type { CheckCode } from "../foundation/checks.ts";
import type { Axis, SignalName } from "../foundation/tracks.ts";
import type {
  Kilograms,
  Metres,
  MetresPerSecond,
  Nanoseconds,
  Newtons,
  Quaternion,
  Radians,
  Seconds,
  Vector3,
} from "../foundation/units.ts";
import type { BenchDeclaration } from "./benchDeclaration.ts";
import type { CostFacts, RotorFacts } from "./costDeclaration.ts";
import type { LooksPlan } from "./looksPlan.ts";

/** Two configurations that are judged against each other: candidate less baseline. */
export interface Contrast {
  readonly baseline: string;
  readonly candidate: string;
}

/** A campaign as declared by its manifest, every quantity in SI, every default filled in. */
export interface Campaign extends CostFacts, Contrast {
  readonly title: string;
  /** pairs that share the family error with baseline and candidate; absent where there is one candidate */
  readonly furtherContrasts?: readonly Contrast[];
  readonly sham: string | null;
  /** smallest change that would matter, per subject, in the unit of the primary measure; null where not declared */
  readonly smallestDifference: {
    readonly vehicle: number | null;
    readonly effector: number | null;
    readonly arm: number | null;
  };
  /** of the measure `within`; null where not declared */
  readonly tolerance: Metres | null;
  readonly primary: MeasureId;
  /** axes of the errors; null where not declared: `heading` for trajectories whose runs face different ways, else `world` */
  readonly judgeIn: "world" | "heading" | null;
  /** what the axes of the world are called, such as "towards the wall"; null where not declared */
  readonly axisNames: Readonly<Record<"x" | "y" | "z", string | null>>;
  /** what a report says of the rig, by names of the lab's own; absent where nothing is declared */
  readonly rig?: Readonly<Record<string, string>>;
  readonly configurations: Readonly<Record<string, Configuration>>;
  readonly vehicle: VehicleFacts | null;
  /** the mass ledger of what flies in every configuration; absent where none is declared */
  readonly parts?: readonly Part[];
  /** how all runs were flown that do not say otherwise */
  readonly flight?: FlightFacts;
  readonly frames: Frames;
  readonly signals: Readonly<Partial<Record<SignalName, SignalSource>>>;
  readonly clocks: Clocks;
  readonly trajectories: Readonly<Record<string, Trajectory>>;
  /** paths relative to the manifest */
  readonly staticCaptures: readonly string[];
  /** folders of .msg files, for logs that hold no definitions of their types; relative to the manifest */
  readonly definitions?: readonly string[];
  readonly runs: readonly RunDeclaration[];
  /** the cells that share the family error; absent where none are declared: then all of the primary measure do */
  readonly family?: readonly DeclaredCells[];
  /** looks that are paid for; absent where none are declared: then looks are counted alone */
  readonly looks?: LooksPlan;
  /** findings that a person takes as they are */
  /** absent where the arm was on no stand */
  readonly bench?: BenchDeclaration;
  readonly accept: readonly Acceptance[];
  /** thresholds that the lab sets itself, SI; all others are the usual ones */
  readonly thresholds: Readonly<Partial<Record<LabThreshold, number>>>;
}

/** Cells that the manifest names as those the campaign is about. */
export interface DeclaredCells {
  readonly trajectory: string;
  readonly subject: "vehicle" | "effector";
  /** null: all that the primary measure has */
  readonly axes: readonly Axis[] | null;
}

export interface Acceptance {
  readonly check: CheckCode;
  /** ids */
  readonly runs: readonly string[] | "all";
  readonly because: string;
  /** figures of the finding when it was accepted, least and largest over its runs; words as they were; empty: none are named */
  readonly evidence: Readonly<Record<string, readonly [number, number] | string>>;
}

export interface Configuration {
  readonly label: string;
  readonly addedMass: Kilograms | null;
  readonly counterweights: readonly Counterweight[];
  /** centre of mass of the whole with the arm at its mean posture, in the vehicle's marker frame; absent where not declared */
  readonly com?: Vector3;
}

export interface Counterweight {
  readonly mass: Kilograms;
  readonly massUncertainty?: Kilograms;
  /** vehicle body axes from the marker frame's origin, arm at its mean posture */
  readonly at: Vector3;
  /** travel of its mass centre per travel of the control point, body axes; absent where not declared */
  readonly travel?: Vector3;
  /** distance of its mass centre from the pivot that it moves about; absent where not declared */
  readonly lever?: Metres;
  /** where it stands in the baseline: it was moved, and adds no mass; absent for a weight that was added */
  readonly movedFrom?: Vector3;
  /** what else it is for; absent where not declared */
  readonly function?: string;
}

/** A part of the mass ledger. */
export interface Part {
  readonly name: string | null;
  readonly mass: Kilograms;
  readonly massUncertainty?: Kilograms;
  readonly at: Vector3 | null;
  /** travel of its mass centre per travel of the control point, body axes; 0 where it rests in the vehicle */
  readonly travel: Vector3;
  readonly function: string | null;
}

/** What held the vehicle besides its thrust: a moving moment is seen in free flight only. */
export interface FlightFacts {
  readonly tether: "none" | "slack" | "tension";
  /** stretch in which the tool touched something, seconds of the run's time; null where it never did */
  readonly contact: Span | null;
}

export interface VehicleFacts extends RotorFacts {
  readonly mass: Kilograms | null;
  /** standard uncertainty of the mass; absent where not declared */
  readonly massUncertainty?: Kilograms;
  /** centre of mass of the whole with the arm at its mean posture, in the vehicle's marker frame; absent where not declared */
  readonly com?: Vector3;
  /** of all rotors together; where it is declared by voltage, at the highest */
  readonly maxThrust: Newtons | null;
  readonly rotors: number | null;
  readonly rotorDiameter: Metres | null;
}

/** Rotation is the quaternion of roll, pitch, yaw (intrinsic z-y'-x''), child in parent. */
export interface RigidTransform {
  readonly translation: Vector3;
  readonly rotation: Quaternion;
}

export interface Frames {
  readonly worldUp: "z" | "y";
  /** onboard world in the capture world; `declared` false where it is the identity by default */
  readonly onboard: RigidTransform;
  readonly onboardDeclared: boolean;
  /** per block, stronger than `onboard` */
  readonly onboardByBlock: Readonly<Record<string, RigidTransform>>;
  /** control point in the effector's marker frame */
  readonly toolPoint: Vector3;
  readonly toolPointDeclared: boolean;
  /** control point in the vehicle's marker frame */
  readonly bodyPoint: Vector3;
  readonly bodyPointDeclared: boolean;
  /** arm base in the vehicle body frame (origin: body point) */
  readonly armBase: RigidTransform;
  readonly armBaseDeclared: boolean;
  /** by how much tool point and arm base may be off, on each axis; null where not declared (`settings` has the default) */
  readonly uncertainty: { readonly length: Metres | null; readonly angle: Radians | null };
}

/** The axes a signal is logged in, where they are not the campaign's own (z up; body x forward, y left, z up). */
export interface SignalAxes {
  /**
   * of positions and attitudes: `ned` (x north, y east, z down) is turned to x east, y north, z up; `frd` (forward, right,
   * down, fixed to the ground) is turned by half a turn about x
   */
  readonly world: "enu" | "ned" | "frd";
  /** of attitudes and rates: forward, left, up or forward, right, down */
  readonly body: "flu" | "frd";
}

/** Where one signal comes from. Exactly one of `topic`, `columns` and `markers` is set. */
export interface SignalSource {
  readonly topic: string | null;
  readonly clock: string;
  /** key of the run's `logs`; null where the run has one log */
  readonly log: string | null;
  /** the frame a command is expressed in */
  readonly frame: "world" | "vehicle" | "arm_base";
  readonly child: string | null;
  /** name or number of one body of messages that hold several; absent where none is declared */
  readonly body?: string;
  readonly joint: string | null;
  readonly fields: Readonly<Record<string, string>> | null;
  readonly columns: Readonly<Record<string, string>> | null;
  readonly units: Readonly<Record<string, string>> | null;
  /** label -> place in the body's marker frame, of a point file */
  readonly markers: Readonly<Record<string, Vector3>> | null;
  /** null: not declared, so the campaign's own */
  readonly axes: SignalAxes | null;
  readonly stamp: "header" | "log";
  /** null: not declared, decided from the data and listed in `settings` */
  readonly between: "hold" | "linear" | null;
}

export interface Clocks {
  /** null where only one clock exists */
  readonly reference: string | null;
  readonly others: Readonly<Record<string, ClockRule>>;
}

export type ClockRule =
  | { readonly kind: "offset"; readonly offset: Seconds }
  | {
      readonly kind: "same-motion";
      /** first: signal on this clock; second: signal on the reference clock */
      readonly pair: readonly [SignalName, SignalName];
      /** half width of the search; null: not declared */
      readonly search: Seconds | null;
      /** null: not declared; 0 where both clocks show dates, else by receipt, else wherever the logs overlap */
      readonly near: Seconds | null;
    };

export type Trajectory =
  | {
      readonly shape: "circle";
      readonly plane: "xy" | "yz" | "xz";
      readonly radius: Metres;
      readonly speed: MetresPerSecond;
      readonly period: Seconds;
      readonly cycles: number;
    }
  | {
      readonly shape: "line";
      readonly axis: "x" | "y" | "z";
      readonly stroke: Metres;
      readonly period: Seconds;
      readonly cycles: number;
    }
  | { readonly shape: "hold"; readonly duration: Seconds }
  | { readonly shape: "logged"; readonly period: Seconds | null };

/** Start and end, seconds after the first receipt time of a log. */
export type Span = readonly [Seconds, Seconds];

export interface RunDeclaration {
  readonly id: string;
  /** key "" where the run has one log; else the names of `logs`; each a list of parts in order */
  readonly logs: Readonly<Record<string, readonly string[]>>;
  readonly configuration: string;
  readonly trajectory: string;
  readonly block: string | null;
  /** seconds after each log's first receipt time, of all its logs or of some by name; null: the whole logs */
  readonly span: Span | Readonly<Record<string, Span>> | null;
  readonly battery: string | null;
  readonly takeoffMass: Kilograms | null;
  readonly started: Nanoseconds | null;
  readonly notes: string | null;
  readonly outcome: "completed" | "aborted";
  /** absent where the run does not say how it was flown */
  readonly flight?: FlightFacts;
  /** why a person excluded it; null where not */
  readonly exclude: string | null;
  /** why a person put it back (exclusions.yaml, `include: true`) */
  readonly putBack?: string;
}
