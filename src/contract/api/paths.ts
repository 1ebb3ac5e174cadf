import type { CellAxis, MeasureId } from "../../catalogue/measures.ts";
import type { Subject } from "../../foundation/tracks.ts";

const part = encodeURIComponent;

/** The addresses of the API. What goes into a path is encoded: ids are a person's words. */
export const apiPaths = {
  campaign: "/api/campaign",
  evaluation: "/api/evaluation",
  progress: "/api/progress",
  exclusions: "/api/exclusions",
  runs: "/api/runs",
  cells: "/api/cells",
  reasons: "/api/reasons",
  audit: "/api/audit",
  costs: "/api/costs",
  bench: "/api/bench",
  plan: "/api/plan",
  questions: "/api/questions",
  rig: "/api/rig",
  opening: "/api/opening",
  run: (id: string): string => `/api/runs/${part(id)}`,
  series: (id: string): string => `/api/runs/${part(id)}/series`,
  cycles: (id: string): string => `/api/runs/${part(id)}/cycles`,
  setup: (id: string): string => `/api/runs/${part(id)}/setup`,
  hover: (id: string): string => `/api/runs/${part(id)}/hover`,
  cell: (cell: { trajectory: string; subject: Subject; axis: CellAxis; metric: MeasureId }): string =>
    `/api/cells/${part(cell.trajectory)}/${cell.subject}/${cell.axis}/${cell.metric}`,
  export: {
    evaluation: "/api/export/evaluation.json",
    cells: "/api/export/cells.csv",
    runs: "/api/export/runs.csv",
    costs: "/api/export/costs.csv",
    bench: "/api/export/bench.csv",
    /** with the query of `/api/plan` */
    nextRuns: "/api/export/next-runs.csv",
    testCards: "/api/export/test-cards.html",
  },
} as const;
