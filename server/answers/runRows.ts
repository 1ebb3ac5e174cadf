import type { Decision, RunRow, ShownRun } from "../../src/contract/api/runAnswers.ts";
import { subjects } from "../../src/foundation/signals.ts";
import type { Nanoseconds } from "../../src/foundation/units.ts";
import type { Shown } from "../Service.ts";
import { flownOrder } from "./flownOrder.ts";

/** The runs of the day, in the order of the manifest. */
export function runRows(shown: Shown): RunRow[] {
  const { runs } = shown;
  const order = flownOrder(runs);
  return runs.map((run, k) => ({
    id: run.id,
    log: run.log,
    configuration: run.configuration,
    trajectory: run.trajectory,
    block: run.block,
    started: run.started,
    battery: run.battery,
    takeoff_mass: run.takeoff_mass,
    outcome: run.outcome,
    notes: run.notes,
    used: run.used,
    excluded_because: run.excluded_because,
    order: order[k]!,
    decision: decisionOn(shown, run.id),
    checks: run.checks,
    cycles: run.windows.cycles.length,
    hold: run.windows.hold === null ? null : run.windows.hold[1] - run.windows.hold[0],
    rms: rmsOf(run, shown.campaign.trajectories[run.trajectory]?.shape === "hold"),
  }));
}

/** A person's word on a run: exclusions.yaml before the manifest. */
export function decisionOn(
  { campaign, exclusions }: Pick<Shown, "campaign" | "exclusions">,
  id: string,
): Decision | null {
  const said = exclusions.find(({ run }) => run === id);
  if (said !== undefined) {
    return { source: "exclusions.yaml", include: said.include, reason: said.reason, at: instantText(said.at) };
  }
  const reason = campaign.runs.find((run) => run.id === id)?.exclude ?? null;
  return reason === null ? null : { source: "manifest", include: false, reason, at: null };
}

/** An instant as ISO 8601, to the millisecond. */
export function instantText(at: Nanoseconds | null): string | null {
  return at === null ? null : new Date(Number(at / 1_000_000n)).toISOString();
}

function rmsOf({ tracking }: Pick<ShownRun, "tracking">, hold: boolean): RunRow["rms"] {
  const scored = hold ? tracking.hold : tracking.cycles;
  const rms: RunRow["rms"] = {};
  for (const subject of subjects) {
    const figures = scored?.[subject];
    if (figures === undefined) continue;
    rms[subject] = { x: figures.x.rms, y: figures.y.rms, z: figures.z.rms, norm: figures.norm.rms };
  }
  return rms;
}
