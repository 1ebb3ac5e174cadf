import { auditCampaign } from "../comparison/audit/auditCampaign.ts";
import { withAccepted } from "../comparison/cellDoubts.ts";
import { compareContrasts } from "../comparison/compareCampaign.ts";
import { configurationBudgets } from "../comparison/configurationBudgets.ts";
import { confoundedTrajectories, describeConfounding } from "../comparison/confoundedTrajectories.ts";
import { constantFindings } from "../comparison/constantFindings.ts";
import { campaignCosts } from "../comparison/costs/campaignCosts.ts";
import { frameEffects } from "../comparison/frameEffects.ts";
import { imbalances } from "../comparison/imbalances.ts";
import { paidByTrajectory } from "../comparison/looks/payLooks.ts";
import { momentFindings } from "../comparison/moving/movingBudget.ts";
import { movingEffects } from "../comparison/moving/movingEffects.ts";
import { planCampaign } from "../comparison/plan/planCampaign.ts";
import { synchronousEffects } from "../comparison/synchronousEffects.ts";
import { varianceComponents } from "../comparison/varianceComponents.ts";
import type { Audit } from "../contract/audit.ts";
import type { Campaign } from "../contract/campaign.ts";
import { contrastsOf } from "../contract/campaignParts.ts";
import type { Cell } from "../contract/cell.ts";
import { type CampaignEvaluation, evaluationSchemaNumber, type RunEvaluation } from "../contract/evaluation.ts";
import type { PaidCell } from "../contract/looksPlan.ts";
import type { ConfigurationBudget, MovingEffect, Reasons } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { benchAndFlights, sealForecast } from "./bench/benchAndFlights.ts";
import { evaluateBenchBlock } from "./bench/evaluateBenchBlock.ts";
import { diskEffects } from "./effects.ts";
import { declaredTransforms } from "./fittedList.ts";
import { loadCampaign } from "./loadCampaign.ts";
import { looksAt, verdictsSeen } from "./lookGrounds.ts";
import { type JourneyOptions, type MeasuredCampaign, measureCampaign } from "./measureCampaign.ts";
import { sinceOpening } from "./opening.ts";
import { earlierCells } from "./paidLooks.ts";
import { countLook, looksOnRecord, readRecord, recordLook } from "./recordLook.ts";
import { settingsOf } from "./settingsOf.ts";
import { labels } from "./stepOf.ts";
import { thisBuild } from "./thisBuild.ts";
import { fileName } from "./wholeText.ts";
import { checkEvaluation } from "./writeEvaluation.ts";

/**
 * The whole journey: a manifest and its logs in, the evaluation out (`measureCampaign`, then the comparison).
 *
 * The look is counted, and added to looks.jsonl beside the manifest once the evaluation is out (`options.write`): one that was
 * killed before that has shown nothing. A set-up in which nothing could be compared is no look.
 *
 * @param manifestPath  path of campaign.yaml
 * @throws ManifestError  the manifest, its runs.csv, exclusions.yaml or looks.jsonl are at fault
 */
export async function evaluateCampaign(
  manifestPath: string,
  options: JourneyOptions & {
    /** false: the look is not counted, for what shows no verdicts; default true */
    look?: boolean;
    /** what is to be done with the evaluation before its look is recorded; called again where that could not be */
    write?: (evaluation: CampaignEvaluation) => Promise<void>;
    /** told of what the next evaluation comes to if nothing changes: this one, with its own look on record */
    settled?: (evaluation: CampaignEvaluation) => void;
  } = {},
): Promise<CampaignEvaluation> {
  const effects = options.effects ?? diskEffects;
  const loaded = await loadCampaign(manifestPath, effects);
  // a faulty record is said before the logs are read
  const record = await readRecord(manifestPath, effects);
  const flown = await measureCampaign(manifestPath, { ...options, loaded });
  const { campaign, measured, settings, parameters, inputs } = flown;
  const before = { campaign, runs: flown.runs, inputs, manifest: fileName(manifestPath) };
  const judged = judge(flown, earlierCells(record.looks, before, effects.now()));
  const at = { ...before, runs: judged.runs };
  const verdicts = [judged, ...(judged.further_contrasts ?? [])].flatMap(({ cells }) => cells);
  const counts = options.look !== false && verdictsSeen(verdicts);
  const bench = await evaluateBenchBlock(campaign, manifestPath, { effects });
  const costs = campaignCosts(campaign, judged.runs, settings);
  const conclude = ({ looks, forecasts }: typeof record): CampaignEvaluation => {
    const now = effects.now();
    const own = looksAt(looks, at);
    const counted = counts ? countLook(looks, at, now) : looksOnRecord(looks, at);
    const opened = counts || own.length > 0 ? sinceOpening(own, at, now) : undefined;
    const paid = paidByTrajectory(campaign, judged.cells, settings.family_error);
    const looked = { ...counted, ...(opened === undefined ? {} : { opened }), ...paid };
    return {
      ...judged,
      looks: looked,
      audit: auditOfAll(campaign, (pair, k) => {
        const cells = k === 0 ? judged.cells : judged.further_contrasts![k - 1]!.cells;
        return auditCampaign(pair, judged.runs, cells, looked, settings, parameters);
      }),
      bench,
      ...(bench === null ? {} : { bench_to_flight: benchAndFlights(campaign, bench, judged, forecasts, at.manifest) }),
      costs,
    };
  };
  let evaluation = conclude(record);
  await options.write?.(evaluation);
  if (options.look !== false) await sealForecast(campaign, evaluation.bench_to_flight, manifestPath, effects);
  if (counts && !(await recordLook(at, manifestPath, effects, judged.cells))) {
    evaluation = { ...evaluation, looks: { ...evaluation.looks, recorded: false } };
    await options.write?.(evaluation);
  } else options.settled?.(conclude(await readRecord(manifestPath, effects)));
  options.onProgress?.({ done: measured.length, total: measured.length, run: "", stage: "done" });
  return evaluation;
}

function judge(
  flown: MeasuredCampaign,
  earlier: readonly PaidCell[],
): Omit<CampaignEvaluation, "looks" | "audit" | "bench" | "costs"> {
  const { campaign, measured, settings, inputs, noise, common, judged } = flown;
  const { runs, cells, further, moving } = judgeCells(flown, earlier);
  return {
    schema: evaluationSchemaNumber,
    title: campaign.title,
    tool: thisBuild,
    inputs,
    settings: settingsOf(campaign, measured, common, judged, settings),
    fitted: [...declaredTransforms(campaign), ...measured.flatMap((run) => run.fitted)],
    noise,
    runs,
    cells,
    ...(further.length === 0 ? {} : { further_contrasts: further }),
    reasons: reasonsOf(campaign, runs, cells, moving, settings),
    plan: planCampaign(campaign, runs, cells, settings),
  };
}

/**
 * The verdicts, what moves as flown, and the runs with the checks that only all of them together raise.
 *
 * @param earlier  cells at the looks before, where looks are paid for
 */
export function judgeCells(
  flown: Pick<MeasuredCampaign, "campaign" | "settings" | "runs">,
  earlier: readonly PaidCell[] = [],
): {
  runs: RunEvaluation[];
  cells: Cell[];
  further: NonNullable<CampaignEvaluation["further_contrasts"]>;
  moving: MovingEffect[];
} {
  const { campaign, settings } = flown;
  const moving = movingEffects(campaign, flown.runs, settings);
  const moments = momentFindings(campaign, moving);
  // what one pair shows of the runs it shares with another says nothing of that other
  const pairs = contrastsOf(campaign).map((pair) => {
    const found = [constantFindings(pair, flown.runs, settings), moments];
    const runs = withAccepted(campaign.accept, withFindings(withConfounding(pair, flown.runs), found));
    return { campaign: pair, runs, earlier };
  });
  const [cells, ...others] = compareContrasts(pairs, settings);
  const further = others.map((own, i) => {
    const { baseline, candidate } = pairs[i + 1]!.campaign;
    return { baseline, candidate, cells: own };
  });
  return { runs: withChecksOfAll(pairs.map(({ runs }) => runs)), cells: cells!, further, moving };
}

/** The audit of the leading pair, with what the audits of the other pairs find besides, each under the name of its pair. */
function auditOfAll(campaign: Campaign, audit: (pair: Campaign, k: number) => Audit): Audit {
  const [lead, ...others] = contrastsOf(campaign).map((pair, k) => ({ pair, own: audit(pair, k) }));
  const findings = [...lead!.own.findings];
  for (const { pair, own } of others) {
    const [candidate, baseline] = labels(pair);
    for (const finding of own.findings) {
      if (findings.some(({ code, message }) => code === finding.code && message === finding.message)) continue;
      findings.push({ ...finding, message: `${candidate} against ${baseline}: ${finding.message}` });
    }
  }
  const order = (["doubt", "note"] as const).flatMap((grave) => findings.filter(({ severity }) => severity === grave));
  return { ...lead!.own, findings: order };
}

/** The runs with what any pair shows of them, each finding once. */
function withChecksOfAll([first, ...others]: readonly RunEvaluation[][]): RunEvaluation[] {
  if (others.length === 0) return first!;
  return first!.map((run, i) => {
    const known = new Set(run.checks.map((check) => JSON.stringify(check)));
    const more = others
      .flatMap((runs) => runs[i]!.checks)
      .filter((check) => {
        const text = JSON.stringify(check);
        return !known.has(text) && known.add(text);
      });
    return { ...run, checks: [...run.checks, ...more] };
  });
}

/** What only all runs of a cell, or of a configuration, together show: by run id. */
function withFindings(
  runs: readonly RunEvaluation[],
  found: readonly ReadonlyMap<string, readonly Check[]>[],
): RunEvaluation[] {
  return runs.map((run) => {
    const checks = found.flatMap((each) => each.get(run.id) ?? []);
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

/** Why the differences of a campaign are as they are, from its runs and cells. Nothing here carries a verdict. */
function reasonsOf(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  moving: MovingEffect[],
  settings: Settings,
): Reasons {
  return {
    budget: inOrder(campaign, configurationBudgets(runs)),
    frames: frameEffects(campaign, runs, cells, settings),
    synchronous: synchronousEffects(campaign, runs, settings),
    imbalance: imbalances(campaign, runs, settings),
    components: varianceComponents(campaign, runs, settings),
    moving,
  };
}

/** Trajectories as declared; baseline, candidate and sham before other configurations. */
function inOrder(campaign: Campaign, budgets: readonly ConfigurationBudget[]): ConfigurationBudget[] {
  const trajectories = Object.keys(campaign.trajectories);
  const { baseline, candidate, sham } = campaign;
  const first = [baseline, candidate, ...(sham === null ? [] : [sham])];
  const configurations = [...new Set([...first, ...Object.keys(campaign.configurations)])];
  const place = ({ trajectory, configuration }: ConfigurationBudget): number =>
    trajectories.indexOf(trajectory) * configurations.length + configurations.indexOf(configuration);
  return [...budgets].sort((a, b) => place(a) - place(b));
}
