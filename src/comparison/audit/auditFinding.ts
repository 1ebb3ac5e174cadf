import type { AuditCodeOf } from "../../catalogue/auditFindings.ts";
import type { MeasureUnit } from "../../catalogue/measures.ts";
import type { AuditFinding } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Subject } from "../../foundation/tracks.ts";
import { inShown, joinWords, probabilityNumber, unitName } from "../../words/amounts.ts";
import { placeWords } from "../../words/places.ts";

/** What every part of the audit looks at. */
export interface AuditedCampaign {
  readonly campaign: Campaign;
  /** as filed, in the manifest's order */
  readonly runs: readonly RunEvaluation[];
  /** those of them that the verdicts rest on, and of these the ones of the judged pair */
  readonly used: readonly RunEvaluation[];
  readonly pair: readonly RunEvaluation[];
  readonly cells: readonly Cell[];
  readonly settings: Settings;
}

/** What a finding says, without its code. */
type FindingWords = Omit<AuditFinding, "code" | "severity">;

/** A reviewer will ask. */
export function doubt(code: AuditCodeOf<"doubt">, words: FindingWords): AuditFinding {
  return { code, severity: "doubt", ...words };
}

/** Worth knowing. */
export function note(code: AuditCodeOf<"note">, words: FindingWords): AuditFinding {
  return { code, severity: "note", ...words };
}

/** Trajectories of which both configurations of the pair have used runs: those that something is said of. */
export function comparedTrajectories({ campaign, pair }: AuditedCampaign): string[] {
  const flown = (trajectory: string, configuration: string): boolean =>
    pair.some((run) => run.trajectory === trajectory && run.configuration === configuration);
  return Object.keys(campaign.trajectories).filter(
    (name) => flown(name, campaign.baseline) && flown(name, campaign.candidate),
  );
}

/** A configuration's label; its key where it has none. */
export function labelOf({ configurations }: Pick<Campaign, "configurations">, key: string): string {
  return configurations[key]?.label || key;
}

/** A share for a reader: "2.0 %", "0.3 %", "33 %". */
export function percentText(share: number): string {
  const percent = Math.abs(share * 100);
  return `${percent.toFixed(percent >= 10 ? 0 : 1)} %`;
}

/** Kilograms as grams: "540 g". */
export function gramsText(kilograms: number): string {
  return `${Math.round(kilograms * 1000)} g`;
}

/** A number of a measure in the unit read, two figures or so: "0.42 mm", "12 mm". */
export function amountText(value: number, unit: MeasureUnit): string {
  const shown = inShown(value, unit);
  const size = Math.abs(shown);
  return `${shown.toFixed(size >= 10 ? 0 : size >= 1 ? 1 : size >= 0.1 ? 2 : 3)} ${unitName(unit)}`;
}

/** The places of a trajectory in a sentence: "the vehicle along x and z, the effector along y". */
export function placesText(
  places: readonly (Pick<Cell, "axis" | "judged_in"> & { readonly subject: Subject })[],
): string {
  const subjects = [...new Set(places.map(({ subject }) => subject))];
  return joinWords(
    subjects.map((subject) => {
      const own = places.filter((place) => place.subject === subject);
      const along = own.map(({ axis }) => axis);
      return `the ${placeWords(subject, along, own[0]!.judged_in)}`;
    }),
  );
}

/** A p in a sentence; "below 0.001" under that. */
export function probabilityText(p: number): string {
  return p < 0.001 ? "below 0.001" : probabilityNumber(p);
}
