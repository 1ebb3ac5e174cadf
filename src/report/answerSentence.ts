import { measureOf } from "../catalogue/measures.ts";
import type { Verdict } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { percentRange } from "../words/amounts.ts";
import { chanceSentence, keptSentence, lookSentence } from "../words/lookWords.ts";
import { measureLabel } from "../words/places.ts";
import { boardDecimals } from "./boardCell.ts";
import { cellPlaces, placesText, subjectsText, trajectoriesOf, trajectoriesText } from "./cellPlaces.ts";
import { constantSentence, doubtSentences } from "./doubtSentences.ts";
import { noAnswer } from "./noAnswer.ts";
import { countsText, enteringRuns, familyCells, hasStrays, isClaim, quotedConfiguration } from "./runGroups.ts";
import { confoundedSentences, smallestText, subjectsOf } from "./smallestText.ts";
import { plainText } from "./text/layout.ts";
import { allOf, sizeRange } from "./text/numbers.ts";

/** longer reasons are not given in the answer, only beneath the board */
const shortReason = 90;

/**
 * What the flight days say, in one short paragraph that a person can repeat: where the candidate is steadier, where less
 * steady, where nothing that matters changes, and what is still open; before all that, which findings forbid a claim. Built from the verdicts of the family alone, and never
 * saying more than they do: "within the noise" is an open question, not an absent effect.
 *
 * @returns plain text in one line, without emphasis; names that a person chose are made harmless
 */
export function answerSentence(evaluation: CampaignEvaluation): string {
  return answerSentences(evaluation).join(" ");
}

/** The sentences of the answer one by one: for pages that set them apart. The first says the most. */
export function answerSentences(evaluation: CampaignEvaluation): string[] {
  const family = familyCells(evaluation);
  const none = noAnswer(evaluation, family);
  if (none !== null) return [none];
  const having = (verdict: Verdict): Cell[] => family.filter((cell) => cell.verdict === verdict);
  const claims = family.filter(isClaim);
  const alike = having("no difference that matters");
  return [
    ...doubtSentences(evaluation, family),
    constantSentence(evaluation, family),
    ...confoundedSentences(evaluation.runs, family),
    headSentence(evaluation, family),
    fragileClaims(claims, family),
    alike.length === family.length || alike.length === 0
      ? ""
      : `No difference that matters (none beyond ${smallestText(alike)}): ${placesText(alike, family)}.`,
    fragileAlike(alike, family),
    openSentence("Within the noise, so still open", having("within the noise"), family),
    ...tooFewSentences(evaluation, having("too few runs"), family),
    openSentence("No verdict, since the runs do not differ at all among themselves", having("no spread"), family),
    axesSentence(evaluation, family),
    missingSentence(family),
    keptSentence(family, (cells) => placesText(cells, family)),
    chanceSentence(having("within the noise"), evaluation.looks, (cells) => placesText(cells, family)),
    lookSentence(evaluation.looks),
  ].filter((sentence) => sentence !== "");
}

/** The pair of configurations, with the labels that their builder gave them. */
export function pairText(evaluation: CampaignEvaluation): string {
  const { baseline, candidate } = evaluation.settings;
  return `With ${quotedConfiguration(evaluation, candidate)} instead of ${quotedConfiguration(evaluation, baseline)}`;
}

function headSentence(evaluation: CampaignEvaluation, family: readonly Cell[]): string {
  const pair = pairText(evaluation);
  const metric = measureLabel(evaluation.settings.primary);
  const steadier = claimText("steadier", family, metric);
  const worse = claimText("less steady", family, steadier === "" ? metric : "");
  if (steadier !== "" && worse !== "") return `${pair}, ${steadier}; but ${worse}.`;
  if (steadier + worse !== "") return `${pair}, ${steadier}${worse}.`;
  if (family.every(({ verdict }) => verdict === "no difference that matters"))
    return `${pair}, there is no difference that matters on any axis: in ${allOf(family.length, "cell", "cells")} the ${metric} of ${subjectsText(subjectsOf(family))} changes by less than ${smallestText(family)}.`;
  return `${pair}, the ${metric} is not shown to fall or to rise on any axis.`;
}

/** "the vehicle is steadier along x in reach (rms error about 3.6 mm lower, 55 %), and the effector ..."; "" without such a cell */
function claimText(verdict: "steadier" | "less steady", family: readonly Cell[], metric: string): string {
  const places = cellPlaces(
    family.filter((cell) => cell.verdict === verdict),
    family,
  );
  const parts = places.map((place, index) => {
    const verb = index > 0 ? "" : ` ${place.subjects.length > 1 ? "are" : "is"} ${verdict}`;
    const amount = amountText(place.cells, { metric: index === 0 ? metric : "", decimals: boardDecimals(family) });
    return `${subjectsText(place.subjects)}${verb} ${place.where} (${amount})`;
  });
  return parts.join(", and ");
}

function amountText(
  cells: readonly Cell[],
  { metric, decimals }: { readonly metric: string; readonly decimals: number },
): string {
  const amounts = cells.map(({ difference }) => Math.abs(difference ?? 0));
  const { verdict, unit, metric: id } = cells[0]!;
  const direction = (verdict === "steadier") === (measureOf(id).steadier === "lower") ? "lower" : "higher";
  const share = shareText(cells);
  const fragile = cells.filter(isFragile).length;
  const mark = fragile === 0 ? "" : fragile === cells.length ? "; fragile" : "; in part fragile";
  return `${metric}${metric === "" ? "" : " "}about ${sizeRange(amounts, { unit, decimals })} ${direction}${share}${mark}`;
}

/** ", 55 %, interval 40 to 69 %", or over several cells ", 30 to 65 %, intervals from 12 to 80 %"; "" unless all have an interval */
function shareText(cells: readonly Cell[]): string {
  const known = cells.flatMap(({ ratio, ratio_ci95: interval }) => {
    if (ratio === null || interval === null || interval[0] === null || interval[1] === null) return [];
    // as the sentence has it, "lower" or "higher": the share counts along the change
    const along = Math.sign(ratio) || 1;
    const ends = [along * interval[0], along * interval[1]];
    return [{ share: Math.abs(ratio), low: Math.min(...ends), high: Math.max(...ends) }];
  });
  const most = Math.max(...known.map(({ high }) => high));
  if (known.length < cells.length || most >= 10) return "";
  const range = percentRange([Math.min(...known.map(({ low }) => low)), most]);
  const shares = known.map(({ share }) => (share < 0.01 ? "less than 1" : String(Math.round(100 * share))));
  const [least, largest] = [Math.min, Math.max].map(
    (pick) => shares[known.findIndex(({ share }) => share === pick(...known.map((one) => one.share)))]!,
  );
  const shown = least === largest ? least : `${least} to ${largest}`;
  return `, ${shown} %, ${cells.length > 1 ? "intervals from" : "interval"} ${range}`;
}

/** Which claims are fragile, where the sentence before marks none or some of a place; and why, where it is one reason. */
function fragileClaims(claims: readonly Cell[], family: readonly Cell[]): string {
  const fragile = claims.filter(isFragile);
  const why = whyText(fragile);
  if (fragile.length === claims.length) return why === "" ? "" : `Fragile${why}.`;
  const inPart = (["steadier", "less steady"] as const).some((verdict) =>
    cellPlaces(
      claims.filter((cell) => cell.verdict === verdict),
      family,
    ).some(({ cells }) => cells.some(isFragile) && !cells.every(isFragile)),
  );
  return inPart || why !== "" ? `Fragile among these: ${placesText(fragile, family)}${why}.` : "";
}

function fragileAlike(alike: readonly Cell[], family: readonly Cell[]): string {
  const fragile = alike.filter(isFragile);
  if (fragile.length === 0) return "";
  if (fragile.length < alike.length) return `Fragile among these: ${placesText(fragile, family)}${whyText(fragile)}.`;
  const which = ["This verdict is", "Both of these verdicts are"][alike.length - 1];
  return `${which ?? `All ${alike.length} of these verdicts are`} fragile${whyText(fragile)}.`;
}

/**
 * The reason in brackets, where one cell is fragile for one short reason; the board's remarks hold all others. A reason that
 * speaks of another claim ("without run-3 it would be "less steady"") stays out: half heard, it would be taken for one.
 */
function whyText(fragile: readonly Cell[]): string {
  const reasons = fragile.flatMap((cell) => cell.fragile);
  const reason = reasons.length === 1 ? plainText(reasons[0]!).replace(/[.\s]+$/, "") : "";
  const claims = /steadier|less steady/.test(reason);
  return reason === "" || claims || reason.length > shortReason ? "" : ` (${reason})`;
}

function isFragile({ fragile }: Cell): boolean {
  return fragile.length > 0;
}

function openSentence(what: string, cells: readonly Cell[], family: readonly Cell[]): string {
  if (cells.length === 0) return "";
  const where = cells.length === family.length ? allOf(family.length, "cell", "cells") : placesText(cells, family);
  return `${what}: ${where}.`;
}

function tooFewSentences(evaluation: CampaignEvaluation, few: readonly Cell[], family: readonly Cell[]): string[] {
  const strayed = few.filter((cell) => hasStrays(cell, evaluation));
  return [
    openSentence(
      "Too few runs for a verdict",
      few.filter((cell) => !strayed.includes(cell)),
      family,
    ),
    strayed.length === 0 ? "" : openSentence(strayText(evaluation, strayed), strayed, family),
  ];
}

function strayText(evaluation: CampaignEvaluation, strayed: readonly Cell[]): string {
  const counts = countsText(strayed.map((cell) => enteringRuns(cell, evaluation)));
  return `Too few runs for a verdict, since only ${counts} stand in blocks that hold both configurations (fly both in every block)`;
}

function missingSentence(family: readonly Cell[]): string {
  const missing = subjectsOf(family.filter((cell) => cell.smallest_difference === null));
  if (missing.length === 0) return "";
  const whose = missing.length === subjectsOf(family).length ? "" : ` for ${subjectsText(missing)}`;
  return `No smallest difference is declared${whose}, so nothing can be said to change too little to matter.`;
}

/** That errors are judged forward, left and up, and why; "" where all are judged along the room's axes. */
function axesSentence({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const all = trajectoriesOf(family);
  const turned = all.filter((name) => settings.judged_in[name]?.axes === "heading");
  if (turned.length === 0) return "";
  const where = all.length === 1 ? "" : ` ${trajectoriesText(turned, all)}`;
  const figures = turned.map((name) => settings.judged_in[name]!);
  const apart = Math.max(...figures.map((one) => one.apart ?? 0));
  const why = figures.every(({ declared }) => declared)
    ? "as the manifest asks"
    : `since the runs face ways up to ${Math.round((apart * 180) / Math.PI)} degrees apart`;
  return `Errors${where} are judged forward, left and up of each run's heading, ${why}.`;
}
