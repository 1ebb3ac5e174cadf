import type { Cell } from "../../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../../src/contract/evaluation.ts";
import { ManifestError } from "../../../src/foundation/errors.ts";
import { judgeCells } from "../../../src/pipeline/evaluateCampaign.ts";
import { measureCampaign } from "../../../src/pipeline/measureCampaign.ts";
import type { Measurement } from "../../../src/pipeline/measureOne.ts";
import { manifestFor } from "../../../src/simulation/manifestFor.ts";
import { memoryEffects } from "../../support/simulatedCampaign.ts";
import { measureOnce, type Remembered } from "./remembered.ts";
import { type SetUp, smallestDifference } from "./soundCampaign.ts";
import type { TrueDifferences } from "./trueDifferences.ts";

export function manifestOf({ runs, plan, edits }: SetUp): string {
  const manifest = manifestFor({ ...plan, runs: runs.map(({ filed }) => filed) });
  return edits.reduce((text, edit) => edit(text), manifest);
}

/** What is judged here: the runs with their checks, and the cells. */
export type Judged = Pick<CampaignEvaluation, "runs" | "cells">;

/**
 * Runs and verdicts of a set-up as the program makes them, or the message with which its manifest was refused.
 *
 * @param known  runs that were measured before
 * @param found  takes those that are measured now
 */
export async function evaluateSetUp(
  setUp: SetUp,
  known: ReadonlyMap<string, Measurement> = new Map(),
  found: Remembered = new Map(),
): Promise<Judged | string> {
  const logs = Object.fromEntries(setUp.runs.map(({ filed, recording }) => [filed.log, recording]));
  const options = {
    effects: memoryEffects(manifestOf(setUp), logs),
    measureRuns: measureOnce(logs, known, found),
  };
  try {
    return judgeCells(await measureCampaign("campaign.yaml", options));
  } catch (error) {
    if (error instanceof ManifestError) return error.message;
    throw error;
  }
}

/**
 * What a reader of one cell is told, held against the truth.
 *
 * `right`: no verdict against the truth, and an interval that holds the true difference or misses it by under 0.2 smallest
 * differences. `doubted`: the verdict says so. `out`: no verdict, as a configuration lost its runs.
 * `missed`: the interval misses the truth by more. `wrong`: the verdict contradicts it.
 */
export type Outcome = "right" | "doubted" | "out" | "missed" | "wrong";

export interface CellOutcome {
  /** "vehicle y" and so on */
  readonly cell: string;
  readonly outcome: Outcome;
  /** for a person: verdict, difference, interval and truth in millimetres */
  readonly said: string;
}

/** A miss of the interval under this is none, metres. */
const allowedMiss = 0.2 * smallestDifference;

/** How far outside the interval the truth lies, metres; 0 inside. */
export function missOf({ ci95 }: Cell, truth: number): number {
  return ci95 === null ? 0 : Math.max(ci95[0] - truth, truth - ci95[1], 0);
}

/**
 * Every cell of the family. `proper`: the evaluation of the same flights, set up as they should be. What it claims or misses too is
 * the chance of these flights, not the set-up's doing: at 5 of 100 families and intervals (`falseClaims` counts them) it must happen.
 */
export function outcomesOf(evaluation: Judged, truths: TrueDifferences, proper: Judged | null): CellOutcome[] {
  return evaluation.cells
    .filter(({ in_family }) => in_family)
    .map((cell) => {
      const name = `${cell.subject} ${cell.axis}`;
      const truth = truths.get(name) ?? 0;
      const same = proper?.cells.find(
        (other) => other.in_family && other.subject === cell.subject && other.axis === cell.axis,
      );
      return { cell: name, outcome: outcomeOf(cell, truth, same ?? null), said: said(cell, truth) };
    });
}

function outcomeOf(cell: Cell, truth: number, proper: Cell | null): Outcome {
  const verdict = cell.verdict as string;
  if (verdict === "doubted") return "doubted";
  if (verdict === "too few runs" || cell.difference === null) return "out";
  if (verdict === "no difference that matters" && Math.abs(truth) > smallestDifference) return "wrong";
  const claimed = verdict === "steadier" ? -1 : verdict === "less steady" ? 1 : 0;
  if (claimed !== 0 && claimed !== Math.sign(truth) && proper?.verdict !== cell.verdict) return "wrong";
  const chance = proper !== null && missOf(proper, truth) > allowedMiss;
  return missOf(cell, truth) > allowedMiss && !chance ? "missed" : "right";
}

function said({ verdict, difference, ci95 }: Cell, truth: number): string {
  const mm = (metres: number): string => (1e3 * metres).toFixed(2);
  const interval = ci95 === null ? "" : ` [${ci95.map(mm).join(", ")}]`;
  return `${verdict}: ${difference === null ? "-" : mm(difference)}${interval}, true ${mm(truth)}`;
}
