/**
 * The findings of the audit: what else than the counterweights could have made the difference. `grave`: a doubt is what a reviewer
 * will ask, a note is worth knowing; some are either, by how much they can have made.
 */
export const auditFindings = {
  "separate-blocks": {
    grave: "doubt",
    what: "each block holds one configuration alone: what differs may be the days' doing",
  },
  "one-block": { grave: "note", what: "all flights lie in one block, or in none that is named" },
  "uneven-blocks": { grave: "either", what: "a block holds many more runs of one configuration than of the other" },
  "order-drift": {
    grave: "doubt",
    what: "one configuration came later, so that a steady drift would look like a difference",
  },
  "order-unknown": {
    grave: "either",
    what: "the order of the flights is not known, or is given in two ways that differ",
  },
  "drift-seen": {
    grave: "either",
    what: "errors drift from flight to flight, and the order lets that into the difference",
  },
  "battery-apart": { grave: "either", what: "configurations were flown on other packs, or in another state of charge" },
  "mass-unknown": { grave: "note", what: "masses were not weighed, or not declared" },
  "mass-apart": {
    grave: "either",
    what: "masses that should agree do not: weighed, declared, of the counterweights, of the sham, of the parts together",
  },
  "exclusions-apart": { grave: "doubt", what: "one configuration lost more runs than the other" },
  "aborts-apart": { grave: "doubt", what: "more flights of one configuration were aborted" },
  "valid-apart": { grave: "doubt", what: "the capture saw more of one configuration than of the other" },
  "many-looks": {
    grave: "either",
    what: "the verdicts were looked at several times, resting on something else each time",
  },
  "sham-missing": {
    grave: "note",
    what: "nothing tells balance from mass: no configuration has the mass without the balance",
  },
  "settings-apart": {
    grave: "either",
    what: "settings of the autopilot differ between configurations, or from flight to flight",
  },
  "thresholds-set": { grave: "note", what: "the manifest sets thresholds of its own" },
  accepted: { grave: "note", what: "a finding is taken as it is, with the reason given" },
  "accept-open": { grave: "either", what: "an acceptance takes nothing, or no longer fits the finding" },
} as const satisfies Readonly<Record<string, { readonly grave: "note" | "doubt" | "either"; readonly what: string }>>;

export type AuditCode = keyof typeof auditFindings;
/** The codes that a finding of some gravity can have. */
export type AuditCodeOf<Grave extends "note" | "doubt"> = {
  [Code in AuditCode]: (typeof auditFindings)[Code]["grave"] extends Grave | "either" ? Code : never;
}[AuditCode];
export const auditCodes = Object.keys(auditFindings) as [AuditCode, ...AuditCode[]];
