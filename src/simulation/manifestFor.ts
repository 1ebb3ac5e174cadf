import type { MeasureId } from "../catalogue/measures.ts";
import type { SignalName } from "../foundation/tracks.ts";
import type { Kilograms, Metres, Vector3 } from "../foundation/units.ts";
import type { FlightSettings, FlownTrajectory } from "./flightShape.ts";

/** One line of the manifest's `runs`. */
export interface PlannedRun {
  readonly log: string;
  readonly id?: string;
  readonly configuration: string;
  /** what it is filed under, whatever was flown */
  readonly trajectory: string;
  readonly block?: string;
  readonly battery?: string;
  readonly takeoffMass?: Kilograms;
  /** ISO 8601 with zone */
  readonly started?: string;
  readonly notes?: string;
  readonly outcome?: "completed" | "aborted";
  readonly exclude?: string;
}

/** What a manifest says beyond the settings of its flights. */
export interface CampaignPlan {
  readonly title: string;
  readonly baseline: string;
  readonly candidate: string;
  readonly sham?: string;
  readonly smallestDifference: Metres;
  readonly primary?: MeasureId;
  /** frames, topics, clock and vehicle that the flights share */
  readonly flight: FlightSettings;
  readonly configurations: Readonly<
    Record<
      string,
      {
        readonly label: string;
        readonly counterweights?: readonly (FlightSettings["counterweights"][number] & { readonly travel?: Vector3 })[];
      }
    >
  >;
  /** the parts that move; default: none is declared */
  readonly parts?: readonly { readonly name: string; readonly mass: Kilograms; readonly travel: number }[];
  readonly trajectories: Readonly<Record<string, FlownTrajectory>>;
  readonly staticCaptures?: readonly string[];
  readonly runs: readonly PlannedRun[];
  /** signals to declare; default: all but motors, and the estimate only where the flights carry one */
  readonly signals?: readonly SignalName[];
  /** how the capture clock is found; default: attitude against gyro; `none`: all signals are taken to be on one clock */
  readonly captureClock?: "gyro" | "estimate" | "known" | "none";
}

/** The text of a `campaign.yaml` that fits simulated flights. */
export function manifestFor(plan: CampaignPlan): string {
  const lines = [
    `title: ${text(plan.title)}`,
    `baseline: ${plan.baseline}`,
    `candidate: ${plan.candidate}`,
    ...(plan.sham ? [`sham: ${plan.sham}`] : []),
    `smallest_difference: ${millimetres(plan.smallestDifference)}`,
    ...(plan.primary ? [`primary: ${plan.primary}`] : []),
    "configurations:",
    ...Object.entries(plan.configurations).map(([name, { label, counterweights = [] }]) => {
      const added = counterweights.reduce((sum, weight) => sum + weight.mass, 0);
      const weights = counterweights
        .map(({ mass, at, travel }) => {
          const moving = travel === undefined ? "" : `, travel: [${travel.map(round).join(", ")}]`;
          return `{ mass: ${grams(mass)}, at: ${vector(at)}${moving} }`;
        })
        .join(", ");
      const facts = added > 0 ? `, added_mass: ${grams(added)}, counterweights: [${weights}]` : "";
      return `  ${name}: { label: ${text(label)}${facts} }`;
    }),
    `vehicle: { mass: ${round(plan.flight.vehicle.mass)} kg, max_thrust: 92 N, rotors: 6, rotor_diameter: 330 mm }`,
    ...(plan.parts ?? []).map(
      ({ name, mass, travel }, i) =>
        `${i === 0 ? "parts:\n" : ""}  - { name: ${text(name)}, mass: ${grams(mass)}, travel: ${round(travel)} }`,
    ),
    ...framesOf(plan.flight),
    ...signalsOf(plan),
    ...clocksOf(plan),
    "trajectories:",
    ...Object.entries(plan.trajectories).map(([name, trajectory]) => `  ${name}: ${trajectoryText(trajectory)}`),
    ...(plan.staticCaptures?.length ? [`static_captures: [${plan.staticCaptures.join(", ")}]`] : []),
    "runs:",
    ...plan.runs.map((run) => `  - { ${runText(run)} }`),
  ];
  return `${lines.join("\n")}\n`;
}

function framesOf({ frames }: FlightSettings): string[] {
  const placed = ({ translation, rotation }: FlightSettings["frames"]["armBase"]): string =>
    rotation.every((angle) => angle === 0)
      ? vector(translation)
      : `{ translation: ${vector(translation)}, rotation: ${degrees(rotation)} }`;
  const { translation, rotation } = frames.onboard;
  return [
    "frames:",
    `  world: { up: ${frames.worldUp} }`,
    `  onboard: { translation: ${vector(translation)}, rotation: ${degrees(rotation)} }`,
    `  tool_point: ${vector(frames.toolPoint)}`,
    `  body_point: ${vector(frames.bodyPoint)}`,
    `  arm_base: ${placed(frames.armBase)}`,
  ];
}

function signalsOf(plan: CampaignPlan): string[] {
  const { topics, estimate } = plan.flight;
  const usual: SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_rate"];
  const wanted = plan.signals ?? [...usual, ...(estimate ? (["vehicle_estimate"] as const) : []), "battery"];
  return [
    "signals:",
    ...wanted.map((name) => {
      const owner = name === "vehicle_pose" || name === "effector_pose" ? "mocap" : "onboard";
      const clock = plan.captureClock === "none" ? "" : `, clock: ${owner}`;
      const frame = name === "effector_command" ? ", frame: arm_base" : "";
      return `  ${name}: { topic: ${topics[name]}${clock}${frame} }`;
    }),
  ];
}

function clocksOf(plan: CampaignPlan): string[] {
  const rule = plan.captureClock ?? "gyro";
  if (rule === "none") return [];
  const { offset } = plan.flight.clock;
  const pair = rule === "gyro" ? "vehicle_rate" : "vehicle_estimate";
  return [
    "clocks:",
    "  reference: onboard",
    rule === "known"
      ? `  mocap: { offset: ${round(offset * 1000)} ms }`
      : `  mocap: { same_motion: [vehicle_pose, ${pair}], search: 2 s }`,
  ];
}

function trajectoryText(trajectory: FlownTrajectory): string {
  switch (trajectory.shape) {
    case "circle":
      return `{ shape: circle, plane: ${trajectory.plane}, radius: ${millimetres(trajectory.radius)}, speed: ${round(trajectory.speed)} m/s, cycles: ${trajectory.cycles} }`;
    case "line":
      return `{ shape: line, axis: ${trajectory.axis}, stroke: ${millimetres(trajectory.stroke)}, period: ${round(trajectory.period)} s, cycles: ${trajectory.cycles} }`;
    case "hold":
      return `{ shape: hold, duration: ${round(trajectory.duration)} s }`;
  }
}

function runText(run: PlannedRun): string {
  const parts = [
    `log: ${run.log}`,
    run.id && `id: ${text(run.id)}`,
    `configuration: ${run.configuration}`,
    `trajectory: ${run.trajectory}`,
    run.block && `block: ${run.block}`,
    run.battery && `battery: ${run.battery}`,
    run.takeoffMass !== undefined && `takeoff_mass: ${round(run.takeoffMass)} kg`,
    run.started && `started: ${text(run.started)}`,
    run.outcome && `outcome: ${run.outcome}`,
    run.notes && `notes: ${text(run.notes)}`,
    run.exclude && `exclude: ${text(run.exclude)}`,
  ];
  return parts.filter((part) => typeof part === "string").join(", ");
}

function text(value: string): string {
  return JSON.stringify(value);
}

/** twelve digits: what decimal settings need, without the tail of binary fractions */
function round(value: number): number {
  return Number(value.toPrecision(12)) || 0;
}

function millimetres(metres: number): string {
  return `${round(metres * 1000)} mm`;
}

function grams(kilograms: number): string {
  return `${round(kilograms * 1000)} g`;
}

function vector(value: Vector3): string {
  return `[${value.map(millimetres).join(", ")}]`;
}

function degrees(value: Vector3): string {
  return `[${value.map((angle) => `${round((angle * 180) / Math.PI)} deg`).join(", ")}]`;
}
