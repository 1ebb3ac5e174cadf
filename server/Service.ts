import type { ServiceState } from "../src/contract/api/messages.ts";
import type { ShownRun } from "../src/contract/api/runAnswers.ts";
import type { Campaign } from "../src/contract/campaign.ts";
import type { CampaignEvaluation } from "../src/contract/evaluation.ts";
import type { Exclusion } from "../src/contract/manifest/exclusions.ts";
import type { AskedManifest, GivenAnswer } from "../src/pipeline/answerQuestions.ts";
import type { CheckedCampaign } from "../src/pipeline/checkCampaign.ts";
import type { ExclusionChange } from "../src/pipeline/writeExclusions.ts";
import type { RunTraces } from "./rememberRuns.ts";

/** A good evaluation with the campaign it was made from. */
export interface Judged {
  readonly version: number;
  readonly campaign: Campaign;
  /** what exclusions.yaml said */
  readonly exclusions: readonly Exclusion[];
  readonly evaluation: CampaignEvaluation;
  /** evaluation.json, validated */
  readonly json: string;
}

/** A good check with the campaign it was made from: what a blind service has instead of an evaluation. */
export interface Checked extends CheckedCampaign {
  readonly version: number;
  readonly exclusions: readonly Exclusion[];
}

/** What the pages of single runs are made of, blind or not. */
export interface Shown {
  readonly version: number;
  readonly campaign: Campaign;
  readonly exclusions: readonly Exclusion[];
  readonly runs: readonly ShownRun[];
  readonly settings: CampaignEvaluation["settings"];
}

export interface Subscriber {
  readonly state: (state: ServiceState) => void;
  /** the service stops; nothing follows */
  readonly end: () => void;
}

/** What stands behind the routes. */
export interface Service {
  /** file name of the manifest, without its folder */
  readonly manifestName: string;
  readonly state: () => ServiceState;
  /** shows no answer (yet): configurations bear letters, and nothing compares them */
  readonly blind: boolean;
  /** @throws CounterpoiseError  codes `not-evaluated`: no evaluation has succeeded yet; `blind`: none is made */
  readonly judged: () => Judged;
  /** of a blind service. @throws CounterpoiseError  code `not-evaluated`: no check has succeeded yet */
  readonly checked: () => Checked;
  /** @throws CounterpoiseError  code `not-evaluated` */
  readonly shown: () => Shown;
  readonly hasShown: () => boolean;
  /** @returns takes the subscription back */
  readonly subscribe: (subscriber: Subscriber) => () => void;
  /** @throws CounterpoiseError  codes `unknown-run`, `not-evaluated`, `log-unreadable` */
  readonly traces: (run: string) => Promise<RunTraces>;
  readonly exclusions: () => Promise<readonly Exclusion[]>;
  /** Writes exclusions.yaml, then evaluates again; resolves once it is written. */
  readonly decide: (change: ExclusionChange) => Promise<readonly Exclusion[]>;
  /** What the manifest leaves open. */
  readonly questions: () => Promise<AskedManifest>;
  /** Writes answers into the manifest, then reads it again; resolves once they are written. */
  readonly answer: (given: {
    readonly stamp: string;
    readonly answers: readonly GivenAnswer[];
  }) => Promise<AskedManifest>;
  /** Ends being blind: the campaign is evaluated, which opens it. @throws CounterpoiseError  code `not-evaluated`: nothing was checked yet */
  readonly open: () => void;
  /** Evaluates and begins to watch; resolves when the first evaluation has ended, well or not. */
  readonly start: () => Promise<void>;
  readonly stop: () => Promise<void>;
}
