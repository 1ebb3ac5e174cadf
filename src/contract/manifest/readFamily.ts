import { measureOf } from "../../catalogue/measures.ts";
import { axes } from "../../foundation/tracks.ts";
import type { Campaign, DeclaredCells } from "../campaign.ts";
import { type LooksPlan, spendingKinds } from "../looksPlan.ts";
import { choice, count, list, mapping, optional, text, withDefault } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { isMapping, type TextMapping } from "./textTree.ts";

const entry = mapping(
  {
    trajectory: text("the name of a trajectory").describe("one of `trajectories`"),
    subject: choice(["vehicle", "effector"], "the subject of a verdict").describe("whose errors are judged"),
    axes: optional(list(choice(axes, "an axis"), "axes")).describe("those of interest; left out, all of the measure"),
  },
  "cells of the family",
);
export const familyField = optional(
  list(entry, "cells such as { trajectory: orbit, subject: effector, axes: [y, z] }"),
);

/** `looks`: declared before the first look, so that each can spend its share. */
export const looksField = optional(
  mapping(
    {
      runs_at_most: count("how many runs of either configuration a trajectory has when all are flown", 1000).describe(
        "runs of either configuration on each trajectory when all are flown",
      ),
      spending: withDefault(choice(spendingKinds, "how the error is shared out"), "obrien-fleming").describe(
        "obrien-fleming: hardly anything early, nearly all at the end; pocock: about as much at each look",
      ),
    },
    "looks that are paid for",
  ),
);

/**
 * `family`: the cells that the campaign is about, named before the flights. Fewer verdicts share the error, so that each takes
 * fewer runs; all other cells are shown without a verdict.
 *
 * @returns null where none is declared: then all cells of the primary measure are the family
 */
export function readFamily(
  reading: Reading,
  root: TextMapping,
  asked: Pick<Campaign, "primary" | "trajectories" | "signals">,
): readonly DeclaredCells[] | null {
  const found = reading.read(familyField, root.family, ["family"]);
  if (found === null) return null;
  if (found.length === 0)
    reading.complain(["family"], "found an empty list, expected at least one cell", "leave the key out to judge all");
  const taken = new Map<string, number>();
  for (const [index, declared] of found.entries()) {
    checkPlace(reading, root, ["family", index], declared, asked);
    for (const axis of declared.axes ?? axes) {
      const { trajectory, subject } = declared;
      const cell = JSON.stringify([trajectory, subject, axis]);
      const before = taken.get(cell) ?? index;
      taken.set(cell, before);
      if (before === index) continue;
      const message = `found ${trajectory}, ${subject}, ${axis} again, which entry ${before + 1} has`;
      reading.complain(["family", index], message, "name each cell once");
      break;
    }
  }
  return found;
}

/** `looks`: how many runs are flown at most, and how the error is shared out over the looks; null where it is not declared. */
export function readLooks(reading: Reading, root: TextMapping): LooksPlan | null {
  const found = reading.read(looksField, root.looks, ["looks"]);
  if (found !== null && found.runs_at_most < 3)
    reading.complain(
      ["looks", "runs_at_most"],
      `found ${found.runs_at_most}, expected at least 3 runs of either configuration`,
      "fewer get no verdict",
    );
  return found;
}

/** Whether the campaign has such cells. */
function checkPlace(
  reading: Reading,
  root: TextMapping,
  at: readonly [string, number],
  { trajectory, subject, axes: named }: DeclaredCells,
  { primary, trajectories, signals }: Pick<Campaign, "primary" | "trajectories" | "signals">,
): void {
  const { along, subjects, windows } = measureOf(primary);
  const known = isMapping(root.trajectories) ? Object.keys(root.trajectories) : [];
  if (!known.includes(trajectory))
    reading.unknownName([...at, "trajectory"], trajectory, { what: "a declared trajectory", known });
  const shape = trajectories[trajectory]?.shape;
  if (shape !== undefined && !windows.includes(shape === "hold" ? "hold" : "cycles")) {
    const message = `found ${JSON.stringify(trajectory)}, of which the primary measure ${primary} has no number`;
    reading.complain([...at, "trajectory"], message, "take it out of the family, or judge another measure");
  }
  if (!subjects.includes(subject)) {
    const message = `found the ${subject}, of which the primary measure ${primary} has no number`;
    reading.complain([...at, "subject"], message, `expected ${subjects.join(" or ")}`);
  } else if (
    subject === "effector" &&
    (signals.effector_pose === undefined || signals.effector_command === undefined)
  ) {
    const message = "found the effector, of which pose and command are not both declared";
    reading.complain(
      [...at, "subject"],
      message,
      "declare `effector_pose` and `effector_command`, or judge the vehicle",
    );
  }
  if (named !== null && along === "norm") {
    const message = `found axes, but the primary measure ${primary} has one number over all of them`;
    reading.complain([...at, "axes"], message, "leave `axes` out");
  } else if (named?.length === 0) {
    reading.complain(
      [...at, "axes"],
      "found an empty list, expected some of x, y, z",
      "leave `axes` out for all of them",
    );
  }
}
