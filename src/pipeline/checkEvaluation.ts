import { touchOf } from "../catalogue/checks.ts";
import type { RunCheck } from "../contract/evaluation.ts";
import type { Check } from "../foundation/checks.ts";

/** A finding as it stands in the evaluation, with all that it can have moved. */
export function checkEvaluation(check: Check): RunCheck {
  const { subjects, axes, windows, part } = touchOf(check);
  return {
    code: check.code,
    severity: check.severity,
    message: check.message,
    evidence: { ...check.evidence } as RunCheck["evidence"],
    hint: check.hint,
    touches: { subjects: [...subjects], axes: [...axes], windows: [...windows], part },
    accepted_because: null,
  };
}
