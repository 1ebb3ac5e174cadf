import type { CellAxis, MeasureId } from "../../src/catalogue/measures.ts";
import type { Subject } from "../../src/foundation/signals.ts";

/** Where a reader can stand. The address after # holds all of it, so that a reload or a link leads to the same sight. */
export type Place =
  | { readonly page: "answer"; readonly metric: MeasureId | null }
  | {
      readonly page: "cell";
      readonly trajectory: string;
      readonly subject: Subject;
      readonly axis: CellAxis;
      readonly metric: MeasureId;
    }
  | {
      readonly page: "run";
      readonly run: string;
      readonly subject: Subject;
      /** brushed window, seconds since the run's epoch; null: the whole run */
      readonly window: readonly [number, number] | null;
    }
  /** two runs beside each other */
  | { readonly page: "compare"; readonly first: string; readonly second: string; readonly subject: Subject }
  | { readonly page: "synchronous"; readonly trajectory: string; readonly subject: Subject }
  | { readonly page: "setup" }
  | { readonly page: "check" }
  | { readonly page: "why" }
  | { readonly page: "audit" }
  | {
      readonly page: "plan";
      /** what was asked for; null: what the plan advises */
      readonly runs: number | null;
      readonly blocks: number | null;
      readonly seed: number | null;
      readonly sham: boolean;
    };
