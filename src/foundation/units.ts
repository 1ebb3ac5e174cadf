/** Unit-bearing names for plain numbers. SI inside; millimetres and degrees only where a person reads. */
export type Seconds = number;
export type Metres = number;
export type Radians = number;
export type Kilograms = number;
export type Newtons = number;
export type Volts = number;
export type KilogramSquareMetres = number;
export type MetresPerSecond = number;
export type RadiansPerSecond = number;
export type Hertz = number;
/** An absolute instant, nanoseconds since the log's own epoch (Unix, boot, ...). */
export type Nanoseconds = bigint;

/** Standard gravity, m/s2. */
export const standardGravity = 9.80665;

/** x, y, z */
export type Vector3 = readonly [number, number, number];
/** x, y, z, w; unit norm; Hamilton; rotates body coordinates into the parent frame. */
export type Quaternion = readonly [number, number, number, number];
