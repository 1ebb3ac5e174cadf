import { type AlignedRun, alignRun } from "../alignment/alignRun.ts";
import type { Stretch } from "../alignment/logged/commonStretch.ts";
import { type PreparedSignals, prepareSignals } from "../alignment/prepareSignals.ts";
import { turnToHeading } from "../alignment/turnToHeading.ts";
import type { Campaign, RunDeclaration } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { MarkerFit } from "../foundation/recording.ts";
import { type Fingerprint, fingerprint } from "./copiedRuns.ts";
import type { Effects } from "./effects.ts";
import { readRunSignals } from "./readRunSignals.ts";

/** All that is needed to align one run, as plain data. */
export interface AlignJob {
  readonly campaign: Campaign;
  readonly declaration: RunDeclaration;
  readonly manifestPath: string;
  readonly settings: Settings;
  /** of a run of a logged trajectory without a period: what it is scored over; absent where that is not decided yet */
  readonly stretch?: Stretch;
  /** the axes in which errors are judged; a run without a heading stays in the world's */
  readonly judgeIn: "world" | "heading";
}

/** Reads and aligns one run. A fault of its log is among its checks. */
export async function alignOneRun(job: AlignJob, effects: Effects): Promise<{ aligned: AlignedRun } & RunFacts> {
  const { prepared, checks, ...facts } = await readAndPrepare(job, effects);
  const { campaign, declaration, settings, stretch } = job;
  const aligned = alignRun(campaign, declaration, prepared, checks, settings, stretch ?? null);
  return { aligned: job.judgeIn === "heading" ? turnToHeading(aligned) : aligned, ...facts };
}

/** What is kept of a run's logs besides its motion. */
export interface RunFacts {
  readonly identity: Fingerprint;
  readonly parameters: ReadonlyMap<string, number> | null;
  /** how well bodies solved from markers fit; null where no body was */
  readonly markers: Readonly<Partial<Record<"vehicle" | "effector", MarkerFit>>> | null;
}

/** Reading apart from the rest, so that the raw columns can be let go before the run is aligned. */
async function readAndPrepare(
  { campaign, declaration, manifestPath, settings }: AlignJob,
  effects: Effects,
): Promise<{ prepared: PreparedSignals; checks: readonly Check[] } & RunFacts> {
  const { signals, checks, parameters } = await readRunSignals(campaign, declaration, manifestPath, effects);
  const [vehicle, effector] = [signals.get("vehicle_pose")?.fit, signals.get("effector_pose")?.fit];
  const markers = { ...(vehicle ? { vehicle } : {}), ...(effector ? { effector } : {}) };
  return {
    prepared: prepareSignals(campaign, declaration, signals, settings),
    checks,
    identity: fingerprint(declaration.id, signals.get("vehicle_pose")),
    parameters,
    markers: vehicle || effector ? markers : null,
  };
}
