import { capital, placeName } from "./names.ts";
import type { Place } from "./place.ts";

/** The name of a place, for the window's title. */
export function placeTitle(place: Place | null, { blind }: { readonly blind: boolean }): string {
  switch (place?.page) {
    case "answer":
      return blind ? "Check" : "Answer";
    case "cell":
      return capital(placeName(place));
    case "run":
      return `Run ${place.run}`;
    case "synchronous":
      return `Arm-synchronous error, ${place.trajectory}`;
    case "setup":
      return "Set-up";
    case "why":
      return "Why";
    case "audit":
      return "Audit";
    case "plan":
      return "Next flights";
    default:
      return "Not found";
  }
}
