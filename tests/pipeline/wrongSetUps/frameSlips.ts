import { quaternionOfAngles } from "../../../src/simulation/attitude.ts";
import { slip, type WrongSetUp } from "./setUpTable.ts";
import { soundFlight } from "./soundCampaign.ts";
import {
  candidate,
  captured,
  declared,
  poses,
  redefined,
  rows,
  secondDay,
  shifted,
  signals,
  times,
  turnedAbout,
  written,
} from "./steps.ts";

const degrees = (roll: number, pitch: number, yaw: number) =>
  quaternionOfAngles((roll * Math.PI) / 180, (pitch * Math.PI) / 180, (yaw * Math.PI) / 180);
const home = soundFlight.setpoint;
const frames = (changes: Partial<typeof soundFlight.frames>) =>
  declared(({ flight }) => ({ flight: { ...flight, frames: { ...flight.frames, ...changes } } }));

/** A flight at another heading: everything in the world turned about the place where it hovers; gyro and arm command stay. */
const heading = (yaw: number, where?: Parameters<typeof poses>[1]) =>
  poses(turnedAbout(degrees(0, 0, yaw), home), where, [...captured, "vehicle_setpoint", "vehicle_estimate"]);

export const frameSlips: readonly WrongSetUp[] = [
  slip("the capture's origin lies 60 mm from where it is declared", poses(shifted([0, 0.06, 0]))),
  slip("the capture is turned by 5 degrees about the vertical", poses(turnedAbout(degrees(0, 0, 5)))),
  slip("the capture's ground plane is tilted by 1.5 degrees", poses(turnedAbout(degrees(1.5, 0, 0)))),
  slip(
    "the capture's rotation is declared with the wrong sign",
    poses(turnedAbout(degrees(0, 0, 10))),
    frames({ onboard: { translation: [0, 0, 0], rotation: [0, 0, (-10 * Math.PI) / 180] } }),
  ),
  slip(
    "the capture's scale is 1 % too large",
    poses(({ position, attitude }) => ({ position: times(1.01, position), attitude })),
  ),
  slip("the capture has y up and nobody says so", poses(turnedAbout(degrees(-90, 0, 0)))),
  slip(
    "ned is declared for frd",
    poses(
      ({ position: [x, y, z], attitude: [qx, qy, qz, qw] }) => ({
        position: [x, -y, -z],
        attitude: [qx, -qy, -qz, qw],
      }),
      undefined,
      ["vehicle_setpoint"],
    ),
    written(/(vehicle_setpoint: \{[^}]*)\}/, "$1, axes: { world: ned } }"),
  ),
  slip(
    "the capture's x axis is mirrored",
    poses(({ position: [x, y, z], attitude }) => ({ position: [-x, y, z], attitude })),
  ),
  slip(
    "the capture's columns x and y are exchanged",
    poses(({ position: [x, y, z], attitude }) => ({ position: [y, x, z], attitude })),
  ),
  slip(
    "the quaternion is written w first",
    poses(({ position, attitude: [x, y, z, w] }) => ({ position, attitude: [w, x, y, z] })),
  ),
  slip(
    "the quaternion turns the world into the body",
    poses(({ position, attitude: [x, y, z, w] }) => ({ position, attitude: [-x, -y, -z, w] })),
  ),
  slip("the tool point is left out", written(/\n {2}tool_point:[^\n]*/, "")),
  slip("the tool point has the wrong sign", frames({ toolPoint: [0, 0, 0.045] })),
  slip("the tool point is given along x", frames({ toolPoint: [-0.045, 0, 0] })),
  slip("the arm base is left out", written(/\n {2}arm_base:[^\n]*/, "")),
  slip(
    "the arm base is given behind the vehicle's middle",
    frames({ armBase: { translation: [-0.06, 0, -0.12], rotation: [0, 0, 0] } }),
  ),
  slip(
    "the arm is mounted turned by 90 degrees and nobody says so",
    // what the arm was asked for, in a base turned by +90 degrees about z
    signals(["effector_command"], (signal) => rows(signal, ({ x, y, z }) => ({ x: y!, y: -x!, z: z! }))),
  ),
  slip("the arm's command is declared in the vehicle's frame", written("frame: arm_base", "frame: vehicle")),
  slip("the arm's command is declared in the world's frame", written("frame: arm_base", "frame: world")),
  slip(
    "the vehicle's markers lie 80 mm above its body point",
    poses(redefined([0, 0, 0, 1], [0, 0, 0.08]), undefined, ["vehicle_pose"]),
  ),
  slip(
    "the vehicle's markers lie 40 mm before its body point",
    poses(redefined([0, 0, 0, 1], [0.04, 0, 0]), undefined, ["vehicle_pose"]),
  ),
  slip(
    "the vehicle's body was defined 8 degrees off in yaw",
    poses(redefined(degrees(0, 0, 8)), undefined, ["vehicle_pose"]),
  ),
  slip(
    "the vehicle's body was defined 90 degrees off in yaw",
    poses(redefined(degrees(0, 0, 90)), undefined, ["vehicle_pose"]),
  ),
  slip(
    "the setpoint holds no yaw while the vehicle stands at 9 degrees",
    heading(9),
    signals(["vehicle_setpoint"], ({ columns: { x, y, z }, ...signal }) => ({
      ...signal,
      columns: { x: x!, y: y!, z: z! },
    })),
  ),
  slip("the candidate was flown at 90 degrees heading", heading(90, candidate)),
  slip("the candidate was flown at 20 degrees heading", heading(20, candidate)),
  slip("the second day faced elsewhere", heading(-90, secondDay)),
  slip("every run was flown at another heading", (setUp) =>
    setUp.runs.reduce((turned, { index }) => heading(40 * index, (run) => run.index === index)(turned), setUp),
  ),
  slip(
    "the capture is turned by 3 degrees about the hover in the candidate's runs",
    poses(turnedAbout(degrees(0, 0, 3), home), candidate),
  ),
  slip(
    "the capture's ground plane is tilted by 3 degrees about the hover in the candidate's runs",
    poses(turnedAbout(degrees(3, 0, 0), home), candidate),
  ),
  slip(
    "a tool marker slipped by 9 mm in the candidate's runs",
    poses(redefined([0, 0, 0, 1], [0, 0.0064, 0.0064]), candidate, ["effector_pose"]),
  ),
  slip(
    "a tool marker slipped by 9 mm on the second day",
    poses(redefined([0, 0, 0, 1], [0.0064, 0.0064, 0]), secondDay, ["effector_pose"]),
  ),
  slip(
    "a tool marker slipped by 9 mm in one run",
    poses(redefined([0, 0, 0, 1], [0, 0.0064, 0.0064]), ({ index }) => index === 4, ["effector_pose"]),
  ),
  slip("the capture's origin was set again on the second day", poses(shifted([0.02, 0.018, 0]), secondDay)),
  slip("the capture was turned by 2 degrees on the second day", poses(turnedAbout(degrees(0, 0, 2)), secondDay)),
  slip(
    "the vehicle's body was created again with the counterweights on",
    poses(redefined(degrees(0, 3, 0), [0.012, 0, 0.004]), candidate, ["vehicle_pose"]),
  ),
  slip(
    "the vehicle's body was created again on the second day, 4 degrees off",
    poses(redefined(degrees(0, 0, 4)), secondDay, ["vehicle_pose"]),
  ),
  slip(
    "the quaternions of the candidate's files are in the order w, x, y, z",
    poses(({ position, attitude: [x, y, z, w] }) => ({ position, attitude: [w, x, y, z] }), candidate),
  ),
  slip(
    "y is mirrored in the second day's calibration",
    poses(
      ({ position: [x, y, z], attitude: [qx, qy, qz, qw] }) => ({ position: [x, -y, z], attitude: [-qx, qy, -qz, qw] }),
      secondDay,
    ),
  ),
  slip(
    "the capture sank by 5 mm when the counterweights went on",
    poses(shifted([0, 0, -0.005]), candidate, ["vehicle_pose"]),
  ),
];
