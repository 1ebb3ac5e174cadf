import type { Step } from "./soundCampaign.ts";
import type { Trial } from "./trueDifferences.ts";

/** One plausible slip: what a lab's logs or manifest say otherwise than it was. */
export interface WrongSetUp {
  /** what is wrong, for a person */
  readonly name: string;
  readonly trial: Trial;
  readonly steps: readonly Step[];
  /** runs only stand on each other's side: where there is no effect, that is as good a campaign as before, and claims by chance as one */
  readonly exchanged?: true;
}

export const slip = (name: string, ...steps: Step[]): WrongSetUp => ({ name, trial: "orbit", steps });
export const loggedSlip = (name: string, ...steps: Step[]): WrongSetUp => ({ name, trial: "logged", steps });
export const exchange = (name: string, ...steps: Step[]): WrongSetUp => ({ ...slip(name, ...steps), exchanged: true });
/** Of a stretch that all logs hold: what is scored is that, however little of the path it is. */
export const shortSlip = (trial: Trial, name: string, ...steps: Step[]): WrongSetUp => ({ name, trial, steps });
