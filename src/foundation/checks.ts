import type { Axis, Subject } from "./tracks.ts";

/**
 * Codes of the checks of design section 5, `frame-suspect` for measured motion that contradicts the declared axes, and
 * `shared-rate` for air or a controller that move at the rate of the cycles, `heading-apart` for runs that face different ways.
 */
export const checkCodes = [
  "gap",
  "frozen",
  "jump",
  "swap",
  "bad-quaternion",
  "stamp-duplicate",
  "stamp-backward",
  "stamp-epoch",
  "stamp-log-used",
  "clock-ambiguous",
  "clock-axes-disagree",
  "clock-step",
  "clock-apart",
  "bodies-apart",
  "delay-apart",
  "wrong-trajectory",
  "missing-signal",
  "log-unreadable",
  "few-cycles",
  "no-arrival",
  "coarse-command",
  "measured-command",
  "uneven-error",
  "short-hold",
  "low-rate",
  "copied",
  "runaway",
  "saturated",
  "sag",
  "at-noise",
  "noise-apart",
  "recovered",
  "confounded",
  "frame-suspect",
  "shared-rate",
  "constant-offset",
  "heading-apart",
  "moment-phase",
  "moment-too-large",
  "moment-reversed",
] as const;
export type CheckCode = (typeof checkCodes)[number];

/** `note`: worth knowing; `doubt`: look before you trust; `unusable`: the run leaves the verdict. */
export type Severity = "note" | "doubt" | "unusable";

/** Plain figures that let a reader verify the finding. */
export type Evidence = Readonly<Record<string, string | number | boolean | null | readonly (string | number)[]>>;

export const touchedParts = ["all", "bias", "peaks", "synchronous", "nothing"] as const;

/** The figures that a finding can have moved. */
export interface Touch {
  readonly subjects: readonly Subject[];
  readonly axes: readonly Axis[];
  readonly windows: readonly ("cycles" | "hold")[];
  /** `bias`: only the constant part of the error; `peaks`: only how far it reaches; `synchronous`: only what is in step with the arm; `nothing`: no figure rests on it */
  readonly part: (typeof touchedParts)[number];
}

export interface Check {
  readonly code: CheckCode;
  readonly severity: Severity;
  readonly message: string;
  readonly evidence: Evidence;
  readonly hint: string;
  /** where it can have moved less than its code can (src/catalogue/checks.ts) */
  readonly touches?: Partial<Touch>;
}
