import { auditCampaign } from "../comparison/audit/auditCampaign.ts";
import { compareCampaign } from "../comparison/compareCampaign.ts";
import { confoundedTrajectories } from "../comparison/confoundedTrajectories.ts";
import { constantFindings } from "../comparison/constantFindings.ts";
import { describeConfounding } from "../comparison/describeConfounding.ts";
import { planCampaign } from "../comparison/plan/planCampaign.ts";
import type { Campaign } from "../contract/campaign.ts";
import { type CampaignEvaluation, evaluationSchemaNumber, type RunEvaluation } from "../contract/evaluation.ts";
import { checkEvaluation } from "./checkEvaluation.ts";
import { diskEffects } from "./effects.ts";
import { declaredTransforms } from "./fittedList.ts";
import { type JourneyOptions, type MeasuredCampaign, measureCampaign } from "./measureCampaign.ts";
import { reasonsOf } from "./reasonsOf.ts";
import { looksOnRecord, readLooks, recordLook } from "./recordLook.ts";
import { settingsOf } from "./settingsOf.ts";
import { version } from "./version.ts";

/**
 * The whole journey: a manifest and its logs in, the evaluation out (`measureCampaign`, then the comparison).
 *
 * The look is counted and added to looks.jsonl beside the manifest (`recordLook`).
 *
 * @param manifestPath  path of campaign.yaml
 * @throws ManifestError  the manifest, its runs.csv, exclusions.yaml or looks.jsonl are at fault
 */
export async function evaluateCampaign(
  manifestPath: string,
  options: JourneyOptions & {
    /** false: the look is not counted, for what shows no verdicts; default true */
    look?: boolean;
  } = {},
): Promise<CampaignEvaluation> {
  const effects = options.effects ?? diskEffects;
  // first: a faulty record is said before the logs are read
  const looks = await readLooks(manifestPath, effects);
  const flown = await measureCampaign(manifestPath, options);
  const judged = judge(flown);
  const looked = options.look === false ? looksOnRecord(looks) : await recordLook(judged, looks, manifestPath, effects);
  const { campaign, measured, settings, parameters } = flown;
  const evaluation = {
    ...judged,
    looks: looked,
    audit: auditCampaign(campaign, judged.runs, judged.cells, looked, settings, parameters),
    bench: null,
    costs: null,
  };
  options.onProgress?.({ done: measured.length, total: measured.length, run: "", stage: "done" });
  return evaluation;
}

function judge({
  campaign,
  measured,
  settings,
  inputs,
  noise,
  common,
  judged,
  runs: graded,
}: MeasuredCampaign): Omit<CampaignEvaluation, "looks" | "audit" | "bench" | "costs"> {
  const runs = withConstantOffsets(campaign, withConfounding(campaign, graded), settings);
  const cells = compareCampaign(campaign, runs, settings);
  return {
    schema: evaluationSchemaNumber,
    title: campaign.title,
    tool: { name: "counterpoise", version },
    inputs,
    settings: settingsOf(campaign, measured, common, judged, settings),
    fitted: [...declaredTransforms(campaign), ...measured.flatMap((run) => run.fitted)],
    noise,
    runs,
    cells,
    reasons: reasonsOf(campaign, runs, cells, settings),
    plan: planCampaign(campaign, runs, cells, settings),
  };
}

/** What only all runs of a cell together show. */
function withConstantOffsets(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: MeasuredCampaign["settings"],
): RunEvaluation[] {
  const found = constantFindings(campaign, runs, settings);
  return runs.map((run) => {
    const checks = found.get(run.id) ?? [];
    return checks.length === 0 ? run : { ...run, checks: [...run.checks, ...checks.map(checkEvaluation)] };
  });
}

/** Used runs of the judged pair get the check `confounded` where no block of their trajectory holds both configurations. */
function withConfounding(campaign: Campaign, runs: readonly RunEvaluation[]): RunEvaluation[] {
  const judged = runs.filter((run) => run.used);
  const found = new Map(confoundedTrajectories(campaign, judged).map((one) => [one.trajectory, one]));
  return runs.map((run) => {
    const confounded = found.get(run.trajectory);
    const ofPair = run.configuration === campaign.baseline || run.configuration === campaign.candidate;
    if (confounded === undefined || !run.used || !ofPair) return run;
    return { ...run, checks: [...run.checks, checkEvaluation(describeConfounding(campaign, confounded))] };
  });
}
