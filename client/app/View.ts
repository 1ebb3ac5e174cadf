import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { Place } from "./place.ts";

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
