import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { placeWords } from "../../src/words/places.ts";

/** The configuration's own label, as its builder gave it. */
export function labelOf(campaign: CampaignView, configuration: string): string {
  return campaign.configurations.find(({ name }) => name === configuration)?.label || configuration;
}

/** @example placeName(cell) // => "orbit, vehicle along y" */
export function placeName({
  trajectory,
  subject,
  axis,
  judged_in = "world",
  axis_name = null,
}: Pick<Cell, "trajectory" | "subject" | "axis"> & Partial<Pick<Cell, "judged_in" | "axis_name">>): string {
  return `${trajectory}, ${placeWords(subject, [axis], judged_in, { [axis]: axis_name })}`;
}

/** A name as it fits beside a drawing; the table under it holds the whole of it. */
export function shortName(text: string, most: number): string {
  const letters = [...text];
  return letters.length <= most
    ? text
    : `${letters
        .slice(0, most - 1)
        .join("")
        .trimEnd()}…`;
}

/** A word of a person's choice at the head of a line. */
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
