import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { flightMessages } from "../pipeline/flightBag.ts";
import { shortFlight, shortManifest } from "../pipeline/shortCampaign.ts";
import { buildBag } from "./writeBag.ts";

/** A campaign of short flights in bags, in turn with the arm alone and with the counterweights, for what a built program does with it. */
export interface FlightsOnDisk {
  readonly ids: readonly string[];
  readonly manifest: string;
  /** writes the manifest with another smallest difference, so that each evaluation is another look */
  readonly askAgain: () => void;
}

/** Few samples a flight: how a run is measured is not what is tried. */
export function flightsOnDisk(folder: string, count: number): FlightsOnDisk {
  const runs = Array.from({ length: count }, (_, k) => ({
    log: `${k + 1}.bag`,
    id: `flight-${k + 1}`,
    configuration: k % 2 === 0 ? "bare" : "weighted",
    trajectory: "orbit",
  }));
  for (const [k, { log }] of runs.entries()) {
    const messages = flightMessages(shortFlight(k + 1, { capture: { rate: 50 } }));
    writeFileSync(join(folder, log), buildBag(messages, { perChunk: 500 }).bytes);
  }
  const manifest = join(folder, "campaign.yaml");
  let asked = 0;
  const askAgain = (): void =>
    writeFileSync(manifest, shortManifest(runs, { smallestDifference: 0.001 + ++asked / 1e6 }));
  askAgain();
  return { ids: runs.map(({ id }) => id), manifest, askAgain };
}
