import type { Audit, AuditFinding } from "../../contract/audit.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { subjects } from "../../foundation/tracks.ts";
import { mean, median } from "../../numeric/descriptive.ts";
import { joinWords } from "../../words/amounts.ts";
import { type AuditedCampaign, doubt, labelOf, note, percentText } from "./auditFinding.ts";

/** At most this many settings are named in a sentence; all stand in `audit.parameters`. */
const mostNamed = 6;

/**
 * Whether the autopilot was set otherwise for one configuration (`settings-apart`): gains that were tuned again are part of what
 * is compared, whatever the difference is called. Settings that only vary within configurations are a note.
 *
 * @param differing  settings that are not the same in all used runs
 * @param known      runs whose logs keep settings
 */
export function settingFindings(
  { campaign, used }: AuditedCampaign,
  differing: Audit["parameters"],
  known: number,
): AuditFinding[] {
  const { baseline, candidate } = campaign;
  const apart = differing.filter(({ configurations }) => {
    const [a, b] = [configurations[baseline] ?? [], configurations[candidate] ?? []];
    return a.length > 0 && b.length > 0 && !a.some((value) => b.includes(value));
  });
  const named = (settings: Audit["parameters"]): string => {
    const texts = settings.slice(0, mostNamed).map(({ name, configurations }) => {
      const values = [baseline, candidate].map((configuration) => valuesText(configurations[configuration] ?? []));
      return `${name} (${values.join(" against ")})`;
    });
    const rest = settings.length - texts.length;
    return `${joinWords(texts)}${rest > 0 ? ` and ${rest} more` : ""}`;
  };
  if (apart.length > 0) {
    return [
      doubt("settings-apart", {
        message: `the autopilot was set otherwise with ${labelOf(campaign, candidate)} than with ${labelOf(campaign, baseline)}: ${named(apart)}; what is compared is both together`,
        evidence: { settings: apart.map(({ name }) => name), differing: apart.length, runs_with_settings: known },
        hint: "fly both configurations with the same settings, or tune both by the same procedure and say so",
      }),
    ];
  }
  const varied = differing.filter(({ configurations }) =>
    [baseline, candidate].some((configuration) => (configurations[configuration] ?? []).length > 1),
  );
  if (varied.length === 0) return [];
  return [
    note("settings-apart", {
      message: `settings of the autopilot changed between runs of one configuration: ${named(varied)}`,
      evidence: {
        settings: varied.map(({ name }) => name),
        differing: varied.length,
        runs_with_settings: known,
        runs: used.length,
      },
      hint: "calibrations change by themselves; gains do not: keep them for the whole campaign",
    }),
  ];
}

function valuesText(values: readonly number[]): string {
  if (values.length === 0) return "none";
  return values
    .slice(0, 3)
    .map((value) => String(Number(value.toPrecision(6))))
    .join(" or ");
}

/** Settings of the autopilot by run id and name. */
export type RunParameters = ReadonlyMap<string, ReadonlyMap<string, number>>;

/** What an autopilot counts or draws by itself; it is set by nobody. */
const counters = /^(LND_FLIGHT_T_(HI|LO)|COM_FLIGHT_UUID|STAT_.*|SYS_.*COUNT)$/;

/**
 * Settings that are not the same in all used runs, in the order of their names, with the values met in each configuration. A
 * setting that a run's log does not have says nothing of that run.
 */
export function differingParameters(used: readonly RunEvaluation[], parameters: RunParameters): Audit["parameters"] {
  const found = new Map<string, Map<string, Set<number>>>();
  for (const { id, configuration } of used)
    for (const [name, value] of parameters.get(id) ?? []) {
      if (counters.test(name) || Number.isNaN(value)) continue;
      const configurations = found.get(name) ?? new Map<string, Set<number>>();
      found.set(name, configurations);
      const values = configurations.get(configuration) ?? new Set<number>();
      configurations.set(configuration, values.add(value));
    }
  return [...found]
    .filter(([, configurations]) => new Set([...configurations.values()].flatMap((values) => [...values])).size > 1)
    .map(([name, configurations]) => ({
      name,
      configurations: Object.fromEntries(
        [...configurations].map(([configuration, values]) => [configuration, [...values].sort((a, b) => a - b)]),
      ),
    }))
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

/**
 * `valid-apart`: the used runs of one configuration have fewer valid samples in their scored windows, by more than the settings
 * allow, in the mean and in the median alike: one bad run moves the mean, but not both.
 */
export function validFindings({ campaign, pair, settings }: AuditedCampaign): AuditFinding[] {
  const stated = subjects.flatMap((subject) => {
    const of = (configuration: string): Float64Array =>
      Float64Array.from(
        pair
          .filter((run) => run.configuration === configuration)
          .map((run) => run.valid_fraction[subject])
          .filter((share) => share !== undefined),
      );
    const baseline = of(campaign.baseline);
    const candidate = of(campaign.candidate);
    if (Math.min(baseline.length, candidate.length) < 2) return [];
    const means = mean(candidate) - mean(baseline);
    const medians = median(candidate) - median(baseline);
    const apart = Math.min(Math.abs(means), Math.abs(medians)) > settings.audit_valid_apart;
    if (!apart || Math.sign(means) !== Math.sign(medians)) return [];
    return [{ subject, baseline: mean(baseline), candidate: mean(candidate) }];
  });
  if (stated.length === 0) return [];
  const shares = stated.map(
    ({ subject, baseline, candidate }) => `${subject} ${percentText(baseline)} and ${percentText(candidate)}`,
  );
  return [
    doubt("valid-apart", {
      message: `${labelOf(campaign, campaign.baseline)} and ${labelOf(campaign, campaign.candidate)} differ in their valid samples: ${joinWords(shares)} on average, and by the median run too; what was lost may not be like what was kept`,
      evidence: {
        subjects: stated.map(({ subject }) => subject),
        baseline: stated.map(({ baseline }) => baseline),
        candidate: stated.map(({ candidate }) => candidate),
      },
      hint: "look whether counterweights or their mounts hide markers; move the markers and fly again",
    }),
  ];
}
