import { familyPlaces } from "../comparison/cellRuns.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Cell } from "../contract/cell.ts";
import type { Look } from "../contract/look.ts";
import type { PaidCell } from "../contract/looksPlan.ts";
import { ManifestError } from "../foundation/errors.ts";
import { type LookedAt, lookAt, looksAt } from "./lookGrounds.ts";

const placeOf = ({
  trajectory,
  subject,
  axis,
  metric,
}: Pick<Cell, "trajectory" | "subject" | "axis" | "metric">): string => [trajectory, subject, axis, metric].join(" ");

/**
 * The cells as they were at the looks before this one, in the order of these. Looking again at what the last look rested on is
 * that look, and not one more.
 *
 * How looks are paid for is sealed at the first of them: what was looked at free of charge cannot be paid for afterwards, nor can
 * a price be changed once something was seen.
 *
 * @param looks  those on record
 * @throws ManifestError  code `looks-sealed`: `looks`, or the family, is not what it was at the first look
 */
export function earlierCells(looks: readonly Look[], at: LookedAt, now: Date): PaidCell[] {
  const own = looksAt(looks, at);
  for (const look of own) requireSealed(look, own.length, at);
  const before = own.at(-1)?.grounds === lookAt(at, now).grounds ? own.slice(0, -1) : own;
  return before.flatMap(({ paid }) => paid?.cells ?? []);
}

function requireSealed({ paid, at: when }: Look, count: number, { campaign, manifest }: LookedAt): void {
  const { looks: plan } = campaign;
  const day = when.slice(0, 10);
  const fault = (message: string, hint: string): ManifestError =>
    new ManifestError("looks-sealed", message, { place: `${manifest}: looks`, hint });
  if (paid === undefined && plan !== undefined)
    throw fault(
      `found \`looks\`, which was not declared when these flights were looked at on ${day} (${count} ${count === 1 ? "look" : "looks"} on record): what was seen free of charge cannot be paid for afterwards`,
      "take `looks` out, and report the number of looks; or declare it for flights that nobody has looked at",
    );
  if (paid === undefined) return;
  const sealed = `{ runs_at_most: ${paid.runs_at_most}, spending: ${paid.spending} }`;
  if (plan?.runs_at_most !== paid.runs_at_most || plan.spending !== paid.spending) {
    const found =
      plan === undefined ? "no `looks`" : `{ runs_at_most: ${plan.runs_at_most}, spending: ${plan.spending} }`;
    throw fault(
      `found ${found}, expected ${sealed}, as it was sealed at the first look on ${day}`,
      `write \`looks: ${sealed}\``,
    );
  }
  const [then, today] = [paid.cells, familyPlaces(campaign)].map((cells) => cells.map(placeOf).sort());
  if (then!.join() !== today!.join())
    throw fault(
      `found a family of ${today!.length} ${today!.length === 1 ? "cell" : "cells"} (${different(today!, then!)}), expected the ${then!.length} that shared the error at the first look on ${day}`,
      "judge the same measure on the same trajectories, subjects and axes; `family` names them where more was flown since",
    );
}

/** What one of two lists has and the other has not. */
function different(found: readonly string[], expected: readonly string[]): string {
  const [more] = found.filter((name) => !expected.includes(name));
  const [less] = expected.filter((name) => !found.includes(name));
  return [more === undefined ? "" : `with ${more}`, less === undefined ? "" : `without ${less}`]
    .filter((part) => part !== "")
    .join(", ");
}

/** What this look is on record with; nothing where looks are not paid for. */
export function paidOf({ looks: plan }: Campaign, cells: readonly Cell[]): Pick<Look, "paid"> {
  if (plan === undefined) return {};
  const family = cells.filter(({ in_family }) => in_family);
  return {
    paid: {
      ...plan,
      cells: family.map(({ trajectory, subject, axis, metric, difference, verdict, look }) => ({
        trajectory,
        subject,
        axis,
        metric,
        fraction: look?.fractions.at(-1) ?? null,
        p: look?.p ?? 1,
        difference,
        verdict: verdict ?? "too few runs",
      })),
    },
  };
}
