import { auditDesign } from "../comparison/audit/auditCampaign.ts";
import { withAccepted } from "../comparison/cellDoubts.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { RunCheck, RunEvaluation } from "../contract/evaluation.ts";
import type { BlindRun, CampaignCheck } from "../contract/look.ts";
import { diskEffects } from "./effects.ts";
import { declaredTransforms } from "./fittedList.ts";
import { configurationLetters, letteredCampaign, loadCampaign, withoutNames } from "./loadCampaign.ts";
import { type JourneyOptions, type MeasuredCampaign, measureCampaign } from "./measureCampaign.ts";
import { looksOnRecord, readLooks } from "./recordLook.ts";
import { settingsOf } from "./settingsOf.ts";
import { thisBuild } from "./thisBuild.ts";
import { fileName, sumOf } from "./wholeText.ts";

/** What a check hands on besides what it shows: who served it must know which letter stands for which configuration. */
export interface CheckedCampaign {
  readonly check: CampaignCheck;
  readonly campaign: Campaign;
  /** configuration -> its letter */
  readonly letters: ReadonlyMap<string, string>;
}

/**
 * The journey without its end: everything that an evaluation rests on, and no difference between configurations. What is
 * mended because of it (clocks, frames, windows, exclusions) is mended before the answer is seen, so no look is counted.
 *
 * @param manifestPath  path of campaign.yaml
 * @throws ManifestError  the manifest, its runs.csv, exclusions.yaml or looks.jsonl are at fault
 */
export async function checkCampaign(manifestPath: string, options: JourneyOptions = {}): Promise<CheckedCampaign> {
  const effects = options.effects ?? diskEffects;
  const loaded = await loadCampaign(manifestPath, effects);
  const record = await readLooks(manifestPath, effects);
  const flown = await measureCampaign(manifestPath, { ...options, loaded });
  const { campaign, measured } = flown;
  const letters = configurationLetters(campaign, seedOf(flown));
  const { first } = looksOnRecord(record, { ...flown, manifest: fileName(manifestPath) });
  const check = blindCheck(flown, letters, first);
  options.onProgress?.({ done: measured.length, total: measured.length, run: "", stage: "done" });
  return { check, campaign, letters };
}

/** From what was recorded, not from what was declared: mending the manifest does not exchange the letters. */
function seedOf({ campaign, inputs }: MeasuredCampaign): string {
  const logs = campaign.runs.flatMap((run) => Object.values(run.logs).flat());
  const sums = inputs
    .filter(({ path }) => logs.some((log) => path === log || path.startsWith(`${log}/`)))
    .map(({ sha256 }) => sha256)
    .sort();
  return sumOf(sums.join("\n"));
}

function blindCheck(
  { campaign, measured, settings, inputs, noise, common, judged, runs: graded, parameters }: MeasuredCampaign,
  letters: ReadonlyMap<string, string>,
  opened: string | null,
): CampaignCheck {
  const lettered = letteredCampaign(campaign, letters);
  const runs = withAccepted(campaign.accept, graded);
  const filed = runs.map((run) => ({
    ...run,
    configuration: letters.get(run.configuration)!,
    checks: run.checks.filter((check) => !comparesConfigurations(check, campaign)),
  }));
  const shown = settingsOf(lettered, measured, common, judged, settings);
  const names = Object.keys(shown.configurations);
  return {
    check: 1,
    title: campaign.title,
    tool: thisBuild,
    inputs,
    settings: {
      ...shown,
      baseline: names[0] ?? "A",
      candidate: names[1] ?? "B",
      sham: null,
      configurations: Object.fromEntries(
        names.map((name) => [name, { label: name, added_mass: null, counterweights: [] }]),
      ),
    },
    fitted: [...declaredTransforms(campaign), ...measured.flatMap((run) => run.fitted)],
    noise,
    // by name: the manifest may list them by configuration
    runs: runs.map((run) => blindRun(run, campaign)).sort((a, b) => a.id.localeCompare(b.id, "en", { numeric: true })),
    audit: auditDesign(lettered, filed, settings, parameters),
    delays_apart: delaysApart(runs, campaign),
    named: runs.filter((run) => isNamed(run, campaign)).map(({ id }) => id),
    opened,
  };
}

/** Without its configuration, its weight, and every figure of its error. */
function blindRun(run: RunEvaluation, campaign: Campaign): BlindRun {
  const apart = run.checks.filter((check) => comparesConfigurations(check, campaign));
  const words = (text: string | null): string | null => (text === null ? null : withoutNames(text, campaign));
  return {
    ...run,
    configuration: null,
    takeoff_mass: null,
    checks: run.checks
      .filter((check) => !apart.includes(check))
      .map((check) => ({ ...check, accepted_because: words(check.accepted_because) })),
    notes: words(run.notes),
    excluded_because: words(run.excluded_because),
    put_back_because: words(run.put_back_because),
    tracking: { cycles: null, hold: null },
    hold: null,
    attitude: null,
    synchronous: null,
    path: null,
    budget: null,
    moving: null,
    spectrum:
      run.spectrum === null
        ? null
        : {
            ...run.spectrum,
            subjects: Object.fromEntries(
              Object.entries(run.spectrum.subjects).map(([subject, own]) => [subject, { ...own, harmonics: [] }]),
            ),
          },
  };
}

/** What was found by setting one configuration against another names them, or stands for one of them. */
function comparesConfigurations({ evidence }: RunCheck, { configurations }: Campaign): boolean {
  return Object.values(evidence)
    .flat()
    .some((value) => typeof value === "string" && Object.hasOwn(configurations, value));
}

/** Trajectories of which the response delays of the configurations differ, with nothing that confirms the clocks. */
function delaysApart(runs: readonly RunEvaluation[], campaign: Campaign): string[] {
  const doubted = runs.filter(({ checks }) =>
    checks.some(
      (check) => check.code === "delay-apart" && check.severity === "doubt" && comparesConfigurations(check, campaign),
    ),
  );
  return [...new Set(doubted.map(({ trajectory }) => trajectory))];
}

function isNamed({ id, log }: RunEvaluation, campaign: Campaign): boolean {
  return [id, ...log].some((text) => withoutNames(text, campaign) !== text);
}
