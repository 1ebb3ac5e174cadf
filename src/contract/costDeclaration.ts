import type {
  KilogramSquareMetres,
  Kilograms,
  Metres,
  Newtons,
  Radians,
  Seconds,
  Vector3,
  Volts,
} from "../foundation/units.ts";

/** What the manifest declares for what the mass costs, SI. Each is optional: a figure that needs a missing one is left out, and named. */
export interface CostFacts {
  readonly battery?: BatteryFacts;
  /** what the vehicle must keep; nothing is judged against a limit that nobody declares */
  readonly limits?: Limits;
  /** kilograms a cubic metre; absent where neither density nor pressure and temperature are declared */
  readonly airDensity?: number;
}

export interface BatteryFacts {
  /** joules in a full pack; null where not declared */
  readonly energy: number | null;
  /** share of it that is flown; null where not declared */
  readonly usable: number | null;
  /** at rest, fully charged; null where not declared */
  readonly full: Volts | null;
  /** at which the flight is ended; null where not declared */
  readonly end: Volts | null;
  readonly mass: Kilograms | null;
  /** cross-section of one conductor of the lead, square metres; null where not declared */
  readonly wire: number | null;
}

export interface Limits {
  readonly thrustToWeight: number | null;
  readonly missionTime: Seconds | null;
  /** radians a square second, about roll and pitch */
  readonly angularAcceleration: number | null;
}

/** Of the vehicle, beside its thrust, the number of its rotors and their diameter. */
export interface RotorFacts {
  /** about the axes through the centre of mass of the vehicle without what a configuration adds */
  readonly inertia?: readonly [KilogramSquareMetres, KilogramSquareMetres, KilogramSquareMetres];
  /** most thrust by supply voltage, highest voltage first; absent where one number is declared */
  readonly maxThrustAt?: readonly { readonly voltage: Volts; readonly thrust: Newtons }[];
  /** thrust goes with this power of the voltage */
  readonly thrustExponent?: number;
  /** of the circle that the rotors' axes stand on */
  readonly rotorRadius?: Metres;
  /** centre of that circle in the vehicle's marker frame; absent: the body point */
  readonly rotorCentre?: Vector3;
  /** from forward towards left; absent where not declared */
  readonly firstRotor?: Radians;
  /** two rotors in each place */
  readonly coaxial?: boolean;
}
