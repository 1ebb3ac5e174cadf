import type { SignalName } from "../foundation/tracks.ts";
import type {
  Hertz,
  Kilograms,
  Metres,
  MetresPerSecond,
  Nanoseconds,
  Radians,
  RadiansPerSecond,
  Seconds,
  Vector3,
} from "../foundation/units.ts";
import type { Fault } from "./faults.ts";

/** What the arm is asked to do, in the arm-base frame. `rampIn`: cycles in which the amplitude grows from nothing. */
export type FlownTrajectory =
  | {
      readonly shape: "circle";
      readonly plane: "xy" | "yz" | "xz";
      readonly radius: Metres;
      readonly speed: MetresPerSecond;
      readonly cycles: number;
      readonly rampIn: number;
    }
  | {
      readonly shape: "line";
      readonly axis: "x" | "y" | "z";
      /** peak to peak */
      readonly stroke: Metres;
      readonly period: Seconds;
      readonly cycles: number;
      readonly rampIn: number;
    }
  | { readonly shape: "hold"; readonly duration: Seconds };

/** A second-order loop: natural frequency and damping ratio. `integral`: rate at which a standing error is worked off, 1/s. */
export interface Loop {
  readonly frequency: Hertz;
  readonly damping: number;
  readonly integral: number;
}

/** Gauss-Markov force (N) and torque (N m) on the body: sd per axis and correlation time. */
export interface AirSettings {
  readonly force: Vector3;
  readonly forceTime: Seconds;
  readonly torque: Vector3;
  readonly torqueTime: Seconds;
}

/** Translation in metres and roll, pitch, yaw in radians (intrinsic z-y'-x''), child in parent. */
export interface Placement {
  readonly translation: Vector3;
  readonly rotation: Vector3;
}

/** Everything a simulated flight is made of. SI throughout; frames as in the manifest. */
export interface FlightSettings {
  /** onboard clock at the first instant of the recording */
  readonly start: Nanoseconds;
  /** seconds of hold before the pause, pause before the cycles, rest after them; climb from the ground first or not */
  readonly timeline: {
    readonly hold: Seconds;
    readonly pause: Seconds;
    readonly rest: Seconds;
    readonly takeOff: boolean;
  };
  /** where the vehicle is told to hover, onboard world */
  readonly setpoint: Vector3;
  readonly trajectory: FlownTrajectory;
  readonly vehicle: {
    /** take-off mass without counterweights, arm included */
    readonly mass: Kilograms;
    /** about roll, pitch, yaw, kg m2, without counterweights */
    readonly inertia: Vector3;
    readonly horizontalLoop: Loop;
    readonly verticalLoop: Loop;
    readonly attitudeLoop: Loop;
    readonly yawLoop: Loop;
    /** linear drag on the body's velocity: deceleration over speed, 1/s */
    readonly drag: number;
  };
  readonly arm: {
    readonly movingMass: Kilograms;
    /** travel of the moving mass' centre per travel of the tool point */
    readonly massFraction: number;
    /** centre of the moving mass at rest, vehicle body frame */
    readonly centre: Vector3;
    /** tool point at rest (circle: its centre), arm-base frame */
    readonly rest: Vector3;
    readonly servoFrequency: Hertz;
    readonly servoDamping: number;
    readonly transportDelay: Seconds;
    /** travel per commanded travel, per arm axis */
    readonly gain: Vector3;
    /** calibration error that grows with the square of the travel, 1/m: it puts a known second harmonic into the arm */
    readonly curvature: number;
  };
  /** counterweights move against the arm; `balance` is the part of the arm's first moment they cancel, per body axis */
  readonly counterweights: readonly { readonly mass: Kilograms; readonly at: Vector3 }[];
  readonly balance: Vector3;
  readonly air: AirSettings;
  /** how the vehicle is carried away from its setpoint by what its position reference does, onboard world */
  readonly drift: {
    readonly bias: Vector3;
    readonly slope: Vector3 /** m per square root of s */;
    readonly wander: number;
  };
  readonly capture: {
    readonly rate: Hertz;
    /** white, per axis of the capture world */
    readonly positionNoise: Vector3;
    /** white, per body axis */
    readonly attitudeNoise: Radians;
  };
  readonly gyro: { readonly rate: Hertz; readonly noise: RadiansPerSecond; readonly bias: Vector3 };
  readonly setpointRate: Hertz;
  readonly commandRate: Hertz;
  readonly batteryRate: Hertz;
  /** the onboard state estimate, left out where null; `delay`: how old the state is that carries the stamp */
  readonly estimate: {
    readonly rate: Hertz;
    readonly positionNoise: Metres;
    readonly attitudeNoise: Radians;
    readonly delay: Seconds;
  } | null;
  /** capture stamp minus onboard stamp of the same instant: at the recording's start, its growth per second, and an integer part for another epoch */
  readonly clock: { readonly offset: Seconds; readonly skew: number; readonly boot: Nanoseconds };
  /** from the instant to its receipt by the recorder, on the onboard clock; `jitter` is the mean of an exponential */
  readonly receipt: { readonly onboard: Seconds; readonly capture: Seconds; readonly jitter: Seconds };
  readonly frames: {
    readonly toolPoint: Vector3;
    readonly bodyPoint: Vector3;
    readonly armBase: Placement;
    /** onboard world in the capture world (both z up) */
    readonly onboard: Placement;
    readonly worldUp: "z" | "y";
    /** with y up: whether the body frames were defined with y up as well */
    readonly bodyUp: "z" | "y";
  };
  /** how runs of one configuration differ: sd of log factors, and sd of standing bias (m) and slope (m/s) */
  readonly between: {
    readonly gain: number;
    readonly air: number;
    readonly arm: number;
    readonly bias: Metres;
    readonly slope: MetresPerSecond;
  };
  readonly topics: Readonly<Record<SignalName, string>>;
  readonly faults: readonly Fault[];
}

/** Flight settings with each group given only as far as it differs. */
export type FlightChanges = {
  readonly [K in keyof FlightSettings]?: FlightSettings[K] extends readonly unknown[] | bigint | string | null
    ? FlightSettings[K]
    : FlightSettings[K] extends object
      ? Partial<FlightSettings[K]>
      : FlightSettings[K];
} & { readonly trajectory?: FlownTrajectory; readonly estimate?: FlightSettings["estimate"] };
