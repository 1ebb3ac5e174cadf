import type { Decision, RunRow, ShownRun } from "../../src/contract/api/runAnswers.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { subjects } from "../../src/foundation/tracks.ts";
import type { Nanoseconds } from "../../src/foundation/units.ts";
import type { Shown } from "../Service.ts";

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

/** Place of each run in the order flown, from 1: by `started` where every run has one, else as the manifest lists them. */
export function flownOrder(runs: readonly Pick<RunEvaluation, "started">[]): number[] {
  const rows = [...runs.keys()];
  if (runs.every(({ started }) => started !== null)) {
    const at = runs.map(({ started }) => BigInt(started!));
    rows.sort((a, b) => (at[a]! < at[b]! ? -1 : at[a]! > at[b]! ? 1 : a - b));
  }
  const order = new Array<number>(runs.length);
  rows.forEach((row, k) => {
    order[row] = k + 1;
  });
  return order;
}
