import type { AlignedRun } from "../alignment/alignRun.ts";
import type { Campaign, RigidTransform, RunDeclaration } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Vector3 } from "../foundation/units.ts";
import { eulerFromQuaternion } from "../numeric/quaternion.ts";
import { lowerBound } from "./windowSlices.ts";

type Fitted = CampaignEvaluation["fitted"];

/** Transforms applied to every run, each with its origin. Nothing of them was fitted to the scored data. */
export function declaredTransforms(campaign: Campaign): Fitted {
  const { frames } = campaign;
  const list: Fitted = [
    entry("onboard world in the capture world", frames.onboardDeclared, transformText(frames.onboard)),
    ...Object.entries(frames.onboardByBlock).map(([block, transform]) =>
      entry(`onboard world in the capture world, block ${block}`, true, transformText(transform)),
    ),
    entry("body point in the vehicle's marker frame", frames.bodyPointDeclared, vectorText(frames.bodyPoint)),
  ];
  if (campaign.signals.effector_pose) {
    list.push(
      entry("tool point in the effector's marker frame", frames.toolPointDeclared, vectorText(frames.toolPoint)),
    );
  }
  if (campaign.signals.effector_command?.frame === "arm_base") {
    list.push(entry("arm base in the vehicle body frame", frames.armBaseDeclared, transformText(frames.armBase)));
  }
  for (const [name, source] of Object.entries(campaign.signals)) {
    if (!source?.axes) continue;
    const { world, body } = source.axes;
    // a manifest that turns the captured world names no other world beside it
    const isTurned = frames.worldUp === "y" && (name === "vehicle_pose" || name === "effector_pose");
    list.push({
      what: `${name} turned to the campaign's axes`,
      on: "declared in the manifest",
      value: `${isTurned ? "world with y up, as frames say" : axesText[world]}; body ${axesText[body]}`,
      moved: null,
    });
  }
  if (frames.worldUp === "y") {
    list.push({
      what: "capture world turned from y up to z up",
      on: "declared in the manifest; whether body axes were y up as well is seen from the vehicle's level hover (settings: signals, vehicle_pose, body_up), and holds for the tool too",
      value: "x stays, y becomes z, z becomes -y",
      moved: null,
    });
  }
  return list;
}

/** What was estimated from one run's own data, and how far that moved its errors. */
export function fittedInRun(
  campaign: Pick<RunGrounds, "clocks" | "trajectories">,
  declaration: MeasuredDeclaration,
  run: AlignedRun,
): Fitted {
  const list: Fitted = [];
  for (const [name, clock] of Object.entries(run.clocks)) {
    const rule = campaign.clocks.others[name];
    const on =
      rule?.kind === "same-motion"
        ? `${rule.pair[0]} against ${rule.pair[1]}, whole run: ${clock.source}`
        : "declared in the manifest";
    const error = clock.offset_se === null ? "" : ` (standard error ${(1e3 * clock.offset_se).toFixed(3)} ms)`;
    const skew =
      clock.skew_se === null
        ? ""
        : `, skew ${(1e6 * clock.skew).toFixed(1)} ppm (standard error ${(1e6 * clock.skew_se).toFixed(1)} ppm)`;
    list.push({
      what: `run ${declaration.id}: clock ${name}`,
      on,
      value: `offset ${(1e3 * clock.offset).toFixed(3)} ms${error}${skew}`,
      moved: Math.abs(clock.offset) > 10 ? null : Math.abs(clock.offset) * fastestSpeed(run),
    });
  }
  if (run.heading !== null && run.judgedIn === "heading") {
    list.push({
      what: `run ${declaration.id}: errors of vehicle and effector turned to its heading`,
      on: run.heading.source === "setpoint" ? "mean yaw of the setpoint" : "mean yaw measured, none was commanded",
      value: `${((run.heading.yaw * 180) / Math.PI).toFixed(3)} deg about the vertical, constant`,
      moved: null,
    });
  }
  const declared = campaign.trajectories[declaration.trajectory];
  if (run.period !== null && declared && declared.shape !== "hold") {
    const nominal = declared.period === null ? "" : `, ${declared.period.toFixed(6)} s declared`;
    list.push({
      what: `run ${declaration.id}: start of the cycles and their period`,
      on: "the command alone, never the measured motion",
      value: `start ${run.cycles[0]?.[0].toFixed(4) ?? "none"} s, period ${run.period.toFixed(6)} s${nominal}`,
      moved: 0,
    });
  }
  return list;
}

/** The stretch over which a run of a logged trajectory without a period is scored, as it was found over all runs. */
export function fittedStretch(
  { id, trajectory }: Pick<RunDeclaration, "id" | "trajectory">,
  [stretch]: AlignedRun["cycles"],
  words: string | null,
): Fitted {
  if (stretch === undefined) return [];
  return [
    {
      what: `run ${id}: stretch that is scored`,
      on: `arrival at the setpoint, landing, and the commands of all runs of ${trajectory} laid over each other; never how large the error is`,
      value: `${stretch[0].toFixed(2)} to ${stretch[1].toFixed(2)} s: ${words ?? "this flight alone"}`,
      moved: null,
    },
  ];
}

const axesText = {
  enu: "world with z up, as logged",
  ned: "north, east, down: x becomes y, y becomes x, z becomes -z",
  frd: "forward, right, down: x stays, y becomes -y, z becomes -z",
  flu: "forward, left, up, as logged",
} as const;

function entry(what: string, isDeclared: boolean, value: string): Fitted[number] {
  return {
    what,
    on: isDeclared ? "declared in the manifest" : "default: identity, not declared",
    value,
    moved: isDeclared ? null : 0,
  };
}

function vectorText(vector: Vector3): string {
  return `[${vector.map((value) => (1e3 * value).toFixed(2)).join(", ")}] mm`;
}

function transformText({ translation, rotation }: RigidTransform): string {
  const { roll, pitch, yaw } = eulerFromQuaternion(rotation);
  const degrees = [roll, pitch, yaw].map((angle) => ((angle * 180) / Math.PI).toFixed(3)).join(", ");
  return `${vectorText(translation)}, roll pitch yaw [${degrees}] deg`;
}

/** Largest root-mean-square speed of any subject in the cycles, m/s: an instant wrong by dt moves an error by dt times it. */
function fastestSpeed(run: AlignedRun): number {
  const window = run.cycles.length > 0 ? [run.cycles[0]![0], run.cycles.at(-1)![1]] : run.hold;
  if (window === null) return 0;
  let fastest = 0;
  for (const track of Object.values(run.subjects)) {
    const a = lowerBound(track.t, window[0]!);
    const b = lowerBound(track.t, window[1]!);
    // over steps of about 50 ms, so that capture noise does not pass for speed
    const stride = Math.max(1, Math.round((0.05 * (b - a)) / Math.max(1e-9, window[1]! - window[0]!)));
    let squares = 0;
    let n = 0;
    for (let i = a; i + stride < b; i += stride) {
      const dt = track.t[i + stride]! - track.t[i]!;
      const { x, y, z } = track.measured;
      squares +=
        ((x[i + stride]! - x[i]!) ** 2 + (y[i + stride]! - y[i]!) ** 2 + (z[i + stride]! - z[i]!) ** 2) / (dt * dt);
      n++;
    }
    if (n > 0) fastest = Math.max(fastest, Math.sqrt(squares / n));
  }
  return fastest;
}
