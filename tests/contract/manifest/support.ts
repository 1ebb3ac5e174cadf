import type { Campaign } from "../../../src/contract/campaign.ts";
import {
  type ManifestProblemsError,
  ManifestProblemsError as Problems,
} from "../../../src/contract/manifest/problems.ts";
import { readCampaign } from "../../../src/contract/manifest/readCampaign.ts";

/** The example manifest of the project's specification. */
export const example = `title: Tank-wall swab arm, autumn trials
baseline: bare
candidate: weighted
sham: ballast                       # optional
smallest_difference: 1.5 mm
primary: rms
configurations:
  bare: { label: Arm alone }
  weighted: { label: Counterweights fitted, added_mass: 540 g, counterweights: [{ mass: 270 g, at: [-140 mm, 0 mm, 20 mm] }, { mass: 270 g, at: [-140 mm, 0 mm, -20 mm] }] }
  ballast: { label: Same mass at the centre, added_mass: 540 g }
vehicle: { mass: 4.6 kg, max_thrust: 92 N, rotors: 6, rotor_diameter: 330 mm }
frames:
  world: { up: z }
  onboard: { translation: [0 mm, 0 mm, 0 mm], rotation: [0 deg, 0 deg, 0 deg] }
  tool_point: [0 mm, 0 mm, -45 mm]
  body_point: [0 mm, 0 mm, 0 mm]
  arm_base: [60 mm, 0 mm, -120 mm]
signals:
  vehicle_pose:     { topic: /mocap/airframe, clock: mocap }
  effector_pose:    { topic: /mocap/tool, clock: mocap }
  vehicle_setpoint: { topic: /onboard/hold_point, clock: onboard }
  effector_command: { topic: /arm/goal, clock: onboard, frame: arm_base }
  vehicle_rate:     { topic: /imu, clock: onboard }
  vehicle_estimate: { topic: /onboard/state, clock: onboard }
clocks:
  reference: onboard
  mocap: { same_motion: [vehicle_pose, vehicle_rate], search: 2 s }
trajectories:
  orbit: { shape: circle, plane: yz, radius: 60 mm, speed: 0.25 m/s, cycles: 14 }
  reach: { shape: line, axis: x, stroke: 150 mm, period: 1.9 s, cycles: 12 }
  hold:  { shape: hold, duration: 60 s }
  track: { shape: logged }
static_captures: [static.bag]
runs:
  - { log: flight-01.bag, configuration: bare, trajectory: orbit, block: day1 }
  - { log: flight-02.bag, configuration: weighted, trajectory: orbit, block: day1, exclude: "arm jammed in cycle 4" }
`;

/** The example with one piece replaced; the piece must be there. */
export function changed(...replacements: readonly [from: string, to: string][]): string {
  let text = example;
  for (const [from, to] of replacements) {
    if (!text.includes(from)) throw new Error(`the example does not hold ${from}`);
    text = text.replace(from, () => to);
  }
  return text;
}

/** Line and column (from 1) of the first occurrence of `piece`. */
export function placeOf(text: string, piece: string, file = "campaign.yaml"): string {
  const at = text.indexOf(piece);
  if (at < 0) throw new Error(`the text does not hold ${piece}`);
  const lines = text.slice(0, at).split("\n");
  return `${file}:${lines.length}:${lines.at(-1)!.length + 1}`;
}

export function read(text: string, tables: Readonly<Record<string, string>> = {}): Promise<Campaign> {
  return readCampaign(text, {
    file: "campaign.yaml",
    readText: (path) => {
      const table = tables[path];
      if (table === undefined) throw new Error(`no such file: ${path}`);
      return table;
    },
  });
}

/** The error of a manifest that must be refused. */
export async function refusal(
  text: string,
  tables: Readonly<Record<string, string>> = {},
): Promise<ManifestProblemsError> {
  try {
    await read(text, tables);
  } catch (error) {
    if (error instanceof Problems) return error;
    throw error;
  }
  throw new Error("the manifest was not refused");
}
