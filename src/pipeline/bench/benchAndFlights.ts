import { magnitude, meanPhasor } from "../../bench/phasor.ts";
import { benchToFlight, seenIn } from "../../bench/toFlight.ts";
import type { BenchEvaluation } from "../../contract/benchEvaluation.ts";
import type { ToFlight } from "../../contract/benchToFlight.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { centreOfMass } from "../../contract/ledger.ts";
import type { SealedForecast } from "../../contract/look.ts";
import { ManifestError } from "../../foundation/errors.ts";
import { buildText } from "../../words/buildText.ts";
import type { Effects } from "../effects.ts";
import { looksPath, readRecord, withLine } from "../recordLook.ts";
import { thisBuild } from "../thisBuild.ts";
import { fileName, sumOf } from "../wholeText.ts";
import { inArmBase } from "./evaluateBenchBlock.ts";

/**
 * Bench and flights side by side, and the forecast against what was flown: the last one that was sealed under this manifest's name
 * before a candidate run was filed, else the present one.
 */
export function benchAndFlights(
  campaign: Campaign,
  bench: BenchEvaluation,
  flights: Pick<CampaignEvaluation, "runs" | "cells" | "reasons">,
  forecasts: readonly SealedForecast[],
  manifest: string,
): ToFlight {
  const together = benchToFlight({
    campaign,
    bench,
    flights,
    com: (configuration) => {
      const { at, source } = centreOfMass(campaign, configuration);
      return source === "body_point" && !campaign.frames.bodyPointDeclared ? null : inArmBase(campaign, at);
    },
  });
  const sealed = forecasts.findLast((one) => one.manifest === manifest) ?? null;
  const held = (sealed?.forecast ?? together.forecast).flatMap(
    ({ trajectory, axis, expected, prediction }): ToFlight["held"] => {
      if (axis === "z" || expected === null || prediction === null) return [];
      const flown = seenIn(flights.runs, trajectory, campaign.candidate, axis);
      if (flown.length === 0) return [];
      const length = magnitude(meanPhasor(flown.map(({ displacement }) => displacement)));
      const within = prediction[0] <= length && length <= prediction[1];
      return [
        {
          trajectory,
          axis,
          flown: length,
          runs: flown.length,
          expected,
          prediction: [prediction[0], prediction[1]],
          within,
        },
      ];
    },
  );
  return { ...together, sealed: sealed === null ? null : { at: sealed.at, sha256: sealed.sha256 }, held };
}

/**
 * Writes a forecast into the record of looks, as long as no candidate run is filed: what is forecast afterwards proves nothing. One
 * that says what the last one says is not written again.
 */
export async function sealForecast(
  campaign: Campaign,
  together: ToFlight | undefined,
  manifestPath: string,
  effects: Effects,
): Promise<void> {
  if (together === undefined || campaign.runs.some(({ configuration }) => configuration === campaign.candidate)) return;
  const forecast = together.forecast.flatMap(
    ({ trajectory, axis, method, expected, prediction }): SealedForecast["forecast"] =>
      method === null || expected === null || prediction === null
        ? []
        : [{ trajectory, axis, method, expected, prediction: [...prediction] }],
  );
  if (forecast.length === 0) return;
  const sha256 = sumOf(JSON.stringify(forecast));
  const manifest = fileName(manifestPath);
  const line = { at: effects.now().toISOString(), tool: buildText(thisBuild), manifest, sha256, forecast };
  const path = looksPath(manifestPath);
  try {
    await effects.locked(path, async () => {
      const { forecasts, text } = await readRecord(manifestPath, effects);
      if (forecasts.findLast((one) => one.manifest === manifest)?.sha256 === sha256) return;
      await effects.writeAtomically(path, withLine(text, line));
    });
  } catch (error) {
    // a disk that refuses is no fault of the evaluation: it shows no sealed forecast then
    if (error instanceof ManifestError) throw error;
  }
}
