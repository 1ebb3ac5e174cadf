import type { Campaign, RunDeclaration, Trajectory } from "../../src/contract/campaign.ts";
import type { RunEvaluation, SubjectTracking, TrackingFigures } from "../../src/contract/evaluation.ts";
import { axes, type Subject, subjects } from "../../src/foundation/tracks.ts";
import { checkEvaluation } from "../../src/pipeline/writeEvaluation.ts";
import { inventedRun } from "./inventedEvaluation.ts";

/** A run by what the comparison looks at. */
export interface InventedRun {
  readonly configuration: string;
  readonly block?: string | null;
  /** default "orbit" */
  readonly trajectory?: string;
  readonly id?: string;
  /** the number of every measure of every subject and axis, metres; or one for each, null where the run has none */
  readonly value: number | ((place: { subject: Subject; axis: (typeof axes)[number] }) => number);
  readonly perCycle?: readonly number[];
  /** subjects the run has; default all three */
  readonly subjects?: readonly Subject[];
  /** why a person excluded it */
  readonly exclude?: string | null;
  readonly outcome?: "completed" | "aborted";
  readonly unusable?: boolean;
}

/** Runs as an evaluation holds them, with invented numbers; ids run-1, run-2 ... where none is given. */
export function inventedRuns(wanted: readonly InventedRun[]): RunEvaluation[] {
  return wanted.map((run, i) => {
    const { outcome = "completed", unusable = false, exclude = null } = run;
    const why = exclude ?? (outcome === "aborted" ? "aborted" : unusable ? "unusable: log-unreadable" : null);
    const tracking = Object.fromEntries(
      (run.subjects ?? subjects).map((subject) => {
        const own = Object.fromEntries(axes.map((axis) => [axis, figures(figureOf(run, subject, axis), run.perCycle)]));
        return [subject, { delay: null, ...own, norm: figures(0.01, run.perCycle) } as SubjectTracking[Subject]];
      }),
    ) as SubjectTracking;
    return {
      ...inventedRun({ id: run.id ?? `run-${i + 1}` }),
      configuration: run.configuration,
      trajectory: run.trajectory ?? "orbit",
      block: run.block ?? null,
      used: why === null,
      excluded_because: why,
      outcome,
      checks: unusable
        ? [
            checkEvaluation({
              code: "log-unreadable",
              severity: "unusable",
              message: "found no such file",
              evidence: {},
              hint: "look",
            }),
          ]
        : [],
      tracking: { cycles: tracking, hold: tracking },
      synchronous: null,
    };
  });
}

/** The campaign these runs belong to: baseline `bare`, candidate `weighted`, smallest difference 1.5 mm. */
export function inventedCampaign(
  runs: readonly RunEvaluation[],
  changes: Partial<Campaign> & { exclude?: Readonly<Record<string, string>> } = {},
): Campaign {
  const { exclude = {}, ...rest } = changes;
  const trajectory: Trajectory = { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, period: 1.508, cycles: 12 };
  const source = { clock: "onboard", log: null, frame: "world", child: null, joint: null, fields: null } as const;
  const signal = (topic: string) =>
    ({
      ...source,
      topic,
      columns: null,
      units: null,
      markers: null,
      axes: null,
      stamp: "header",
      between: null,
    }) as const;
  const still = { translation: [0, 0, 0], rotation: [1, 0, 0, 0] } as const;
  return {
    title: "Invented campaign",
    baseline: "bare",
    candidate: "weighted",
    sham: null,
    smallestDifference: { vehicle: 0.0015, effector: 0.0015, arm: null },
    primary: "rms",
    tolerance: null,
    judgeIn: null,
    axisNames: { x: null, y: null, z: null },
    configurations: Object.fromEntries(
      [...new Set(["bare", "weighted", ...runs.map(({ configuration }) => configuration)])].map((name) => [
        name,
        { label: name, addedMass: null, counterweights: [] },
      ]),
    ),
    vehicle: null,
    frames: {
      worldUp: "z",
      onboard: still,
      onboardDeclared: false,
      onboardByBlock: {},
      toolPoint: [0, 0, 0],
      toolPointDeclared: false,
      bodyPoint: [0, 0, 0],
      bodyPointDeclared: false,
      armBase: still,
      armBaseDeclared: false,
      uncertainty: { length: null, angle: null },
    },
    signals: {
      vehicle_pose: signal("/mocap/airframe"),
      effector_pose: signal("/mocap/tool"),
      vehicle_setpoint: signal("/onboard/hold_point"),
      effector_command: signal("/arm/goal"),
    },
    clocks: { reference: null, others: {} },
    trajectories: Object.fromEntries(
      [...new Set(["orbit", ...runs.map((run) => run.trajectory)])].map((name) => [name, trajectory]),
    ),
    accept: [],
    thresholds: {},
    staticCaptures: [],
    runs: runs.map(
      (run): RunDeclaration => ({
        id: run.id,
        logs: { "": [`${run.id}.bag`] },
        configuration: run.configuration,
        trajectory: run.trajectory,
        block: run.block,
        span: null,
        battery: null,
        takeoffMass: null,
        started: null,
        notes: null,
        outcome: run.outcome,
        exclude: exclude[run.id] ?? null,
      }),
    ),
    ...rest,
  };
}

function figureOf({ value }: InventedRun, subject: Subject, axis: (typeof axes)[number]): number {
  return typeof value === "number" ? value : value({ subject, axis });
}

function figures(value: number, perCycle: readonly number[] = [value]): TrackingFigures {
  return {
    bias: 0,
    sd: value,
    rms: value,
    mean_abs: value,
    p95: value,
    max_abs: value,
    range: value,
    rms_delay_removed: null,
    per_cycle: [...perCycle],
  };
}
