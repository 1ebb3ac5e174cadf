import { slip, type WrongSetUp } from "./setUpTable.ts";
import { soundFlight } from "./soundCampaign.ts";
import { candidate, captured, declared, poses, rows, signals, times } from "./steps.ts";

const scaled = (factor: number) => poses(({ position, attitude }) => ({ position: times(factor, position), attitude }));
const orbit = (changes: object) =>
  declared(() => ({
    trajectories: { orbit: { ...soundFlight.trajectory, ...changes } as typeof soundFlight.trajectory },
  }));

export const unitSlips: readonly WrongSetUp[] = [
  slip("the capture is in inches", scaled(1 / 0.0254)),
  slip("the capture is in feet", scaled(1 / 0.3048)),
  slip("the capture is in millimetres", scaled(1000)),
  slip(
    "the tool's capture alone is in centimetres",
    poses(({ position, attitude }) => ({ position: times(100, position), attitude }), undefined, ["effector_pose"]),
  ),
  slip(
    "the candidate's capture is in decimetres",
    poses(({ position, attitude }) => ({ position: times(10, position), attitude }), candidate, captured),
  ),
  slip(
    "the candidate's capture is 3 % too large",
    poses(({ position, attitude }) => ({ position: times(1.03, position), attitude }), candidate, captured),
  ),
  slip(
    "the arm's command is in centimetres",
    signals(["effector_command"], (signal) =>
      rows(signal, ({ x, y, z }) => ({ x: 100 * x!, y: 100 * y!, z: 100 * z! })),
    ),
  ),
  slip(
    "the gyro is in degrees a second",
    signals(["vehicle_rate"], (signal) =>
      rows(signal, ({ wx, wy, wz }) => ({ wx: 57.29578 * wx!, wy: 57.29578 * wy!, wz: 57.29578 * wz! })),
    ),
  ),
  slip("the diameter is declared as the radius", orbit({ radius: 0.12, speed: 0.5 })),
  slip("the radius is declared a little wrong", orbit({ radius: 0.054, speed: 0.225 })),
  slip("the period is declared wrong", orbit({ speed: 0.2 })),
  slip("the plane is declared wrong", orbit({ plane: "xz" })),
  slip("more cycles are declared than were flown", orbit({ cycles: 12 })),
  slip("fewer cycles are declared than were flown", orbit({ cycles: 3 })),
];
