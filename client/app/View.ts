import type { CellAxis, MeasureId } from "../../src/catalogue/measures.ts";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { Subject } from "../../src/foundation/tracks.ts";

/** What a page is given to draw itself. */
export interface ViewContext {
  /** the campaign as served; never null on a page: the shell shows loading and error states itself */
  readonly campaign: CampaignView;
  /** where the reader stands: the address says it */
  readonly place: Place;
  /** goes to another place; the address follows */
  readonly go: (place: Place) => void;
  /** changes the address without a new page, as a brushed window does */
  readonly note: (place: Place) => void;
  /** aborted when the reader leaves the page: pass it to `fetchAnswer`, remove listeners on it */
  readonly left: AbortSignal;
}

/**
 * Draws a page into an empty element. What it awaits (answers of the server) it shows as loading; a failed answer it throws,
 * and the shell shows it with its hint.
 */
export type View = (root: HTMLElement, context: ViewContext) => Promise<void>;

/** How a reader looks at the runs of the day; what is left out is as at first. */
export interface RunsSight {
  /** by which column they stand, its largest first where `down` */
  readonly sort?: string;
  readonly down?: true;
  /** words that a run's row has */
  readonly find?: string;
  readonly use?: RunsUse;
  readonly grouped?: true;
  /** whose rms is drawn, such as "effector-y" */
  readonly drawn?: string;
}
export const runsUses = ["used", "left-out", "doubted"] as const;
export type RunsUse = (typeof runsUses)[number];

/** Where a reader can stand. The address after # holds all of it, so that a reload or a link leads to the same sight. */
export type Place =
  | { readonly page: "answer"; readonly metric: MeasureId | null; readonly runs?: RunsSight }
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
  | {
      readonly page: "synchronous";
      readonly trajectory: string;
      readonly subject: Subject;
      /** left out: the first */
      readonly harmonic?: number;
      /** each axis its own scale */
      readonly ownScales?: true;
    }
  | { readonly page: "setup" }
  | { readonly page: "check" }
  | { readonly page: "why" }
  | { readonly page: "costs" }
  | { readonly page: "audit" }
  /** the arm on the stand */
  | { readonly page: "bench" }
  | {
      readonly page: "plan";
      /** what was asked for; null: what the plan advises */
      readonly runs: number | null;
      readonly blocks: number | null;
      readonly seed: number | null;
      readonly sham: boolean;
    };
