import type { ColumnProposal } from "../../foundation/recording.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import { factorIn, unitName } from "../inSI.ts";
import { type ColumnGroup, columnGroups, wordsOf } from "./columnGroups.ts";
import type { ColumnStats, Tabular } from "./Tabular.ts";

const stated =
  /^(sp|setpoint|target|ctrltarget|ref|reference|desired|des|cmd|command|commanded|goal|demand|user|defined)$/;
const arm = /^(tool|effector|ee|tip|gripper|probe|arm|swab|hand)$/;
const estimated = /^(est|estimate|estimated|state|odom|odometry|ekf|fused|onboard|local)$/;
const jointWords = /^(joint|servo|shoulder|elbow)\d*$/;
const timeWords = /^(t|ts|time|timestamp|stamp|sec|secs|seconds|elapsed|clock|epoch|date|datetime)$/;
/** what counts rows rises as a time does, and serves for one where there is no other */
const countWords = /^(frame|frames|sample|samples|index|idx|row|count|counter|seq|sequence|id|no|nr|number)$/;

const orderRemark =
  "the order of the quaternion is a guess: w is last if the vehicle looks along x, first if it looks the other way";

/**
 * The signals that a table's columns could give, by their names and, for the order of a quaternion, by their values: for a
 * person to check, not to be relied on.
 */
export function proposeColumns(
  { names, units, lengthUnit, sample }: Pick<Tabular, "names" | "units" | "lengthUnit" | "sample">,
  stats: readonly ColumnStats[],
): ColumnProposal[] {
  const groups = columnGroups(names, stats);
  const positions = groups.filter(({ kind }) => kind === "position");
  const quaternions = groups.filter(({ kind }) => kind === "quaternion");
  const found: ColumnProposal[] = [];
  const nameOf = (columns: Readonly<Record<string, number>>): Record<string, string> =>
    Object.fromEntries(Object.entries(columns).map(([role, column]) => [role, names[column]!]));
  const unitOf = (column: number | undefined): string | null => (column === undefined ? null : (units[column] ?? null));
  const unsure = new Set(quaternions.filter(({ ambiguous }) => ambiguous).map(({ axes }) => axes.w));
  const add = (signal: SignalName, columns: Readonly<Record<string, number>>, words: readonly string[]): void => {
    const t = timeFor(words, { names, units, sample }, stats);
    if (t === null) return;
    const length = unitOf(columns.x) ?? (columns.x === undefined ? null : lengthUnit);
    const declared = {
      t: unitOf(t),
      position: length,
      angle: unitOf(columns.yaw),
      rate: unitOf(columns.wx),
      voltage: unitOf(columns.voltage),
    };
    const known = Object.entries(declared).flatMap(([kind, unit]) => {
      const name = unit === null ? null : unitName(unit);
      return name === null ? [] : [[kind, name]];
    });
    found.push({
      signal,
      columns: nameOf({ t, ...columns }),
      units: Object.fromEntries(known),
      ...(unsure.has(columns.qw) ? { remark: orderRemark } : {}),
    });
  };
  const rest: ColumnGroup[] = [];
  for (const group of positions) {
    const { words } = group;
    const is = (kind: RegExp): boolean => words.some((word) => kind.test(word));
    const quaternion = quaternionFor(words, quaternions);
    const pose = { ...group.axes, ...quaternion };
    if (is(stated)) {
      const yaw = yawOf(words, names);
      const columns = quaternion === null && yaw !== null ? { ...pose, yaw } : pose;
      add(is(arm) ? "effector_command" : "vehicle_setpoint", columns, words);
    } else if (is(arm)) add("effector_pose", pose, words);
    else if (is(estimated)) add("vehicle_estimate", pose, words);
    else rest.push(group);
  }
  const captured = /^(mocap|vicon|capture|optical|rigid|airframe|body|vehicle|uav|drone|track|tracker)$/;
  // several bodies in one table: which is the vehicle their motion has to show, the likeliest name stands first
  for (const group of [...rest].sort((a, b) => rank(a) - rank(b))) {
    const attitude = quaternionFor(group.words, quaternions) ?? anglesFor(group.words, names);
    add("vehicle_pose", { ...group.axes, ...attitude }, group.words);
  }
  function rank({ words }: ColumnGroup): number {
    return words.some((word) => captured.test(word)) ? 0 : words.length === 0 ? 1 : 2;
  }
  const rates = groups.filter(({ kind }) => kind === "rate");
  const gyro = rates.find(({ words }) => words.some((word) => /^(imu|gyro|gyr)$/.test(word))) ?? rates[0];
  if (gyro !== undefined) {
    const { x, y, z } = gyro.axes;
    add("vehicle_rate", { wx: x!, wy: y!, wz: z! }, gyro.words);
  }
  const voltage = names.findIndex((name) => wordsOf(name).some((word) => /^(vbat|voltage|vbatt)$/.test(word)));
  if (voltage >= 0) add("battery", { voltage }, wordsOf(names[voltage]!));
  const [grouped, moves] = [new Set(groups.flatMap(({ axes }) => Object.values(axes))), stats.map(hasMotion)];
  for (const [column, name] of names.entries()) {
    const isOne = moves[column] && !grouped.has(column) && wordsOf(name).some((word) => jointWords.test(word));
    if (isOne) add("arm_phase", { value: column }, wordsOf(name));
  }
  return found;
}

function hasMotion({ lowest, highest, falls }: ColumnStats): boolean {
  return lowest !== null && lowest !== highest && falls > 0;
}

/** The quaternion whose words are the same, else those with most words in common. */
function quaternionFor(words: readonly string[], quaternions: readonly ColumnGroup[]): Record<string, number> | null {
  const likeness = ({ words: others }: ColumnGroup): number => {
    const common = others.filter((word) => words.includes(word)).length;
    const all = new Set([...others, ...words]).size;
    return all === 0 ? 1 : common / all;
  };
  const best = [...quaternions].sort((a, b) => likeness(b) - likeness(a))[0];
  if (best === undefined || likeness(best) < 0.4) return null;
  const { x, y, z, w } = best.axes;
  return { qx: x!, qy: y!, qz: z!, qw: w! };
}

/** Roll, pitch and yaw of the same words, where there is no quaternion. */
function anglesFor(words: readonly string[], names: readonly string[]): Record<string, number> | null {
  const found = ["roll", "pitch", "yaw"].map((angle) => {
    const column = names.findIndex((name) => {
      const own = wordsOf(name);
      return own.at(-1) === angle && own.length === words.length + 1 && words.every((word) => own.includes(word));
    });
    return [angle, column] as const;
  });
  return found.every(([, column]) => column >= 0) ? Object.fromEntries(found) : null;
}

function yawOf(words: readonly string[], names: readonly string[]): number | null {
  const column = names.findIndex((name) => {
    const own = wordsOf(name);
    return own.at(-1) === "yaw" && words.every((word) => own.includes(word)) && own.length <= words.length + 1;
  });
  return column < 0 ? null : column;
}

/** The column of times that shares most words; never one that falls. */
function timeFor(
  words: readonly string[],
  { names, units, sample }: Pick<Tabular, "names" | "units" | "sample">,
  stats: readonly ColumnStats[],
): number | null {
  const candidates = names.flatMap((name, column) => {
    const own = wordsOf(name);
    const { numbers, falls, lowest, highest } = stats[column]!;
    const rises = numbers > 2 && falls <= 0.01 * numbers && lowest !== highest;
    const dated = /^\d{4}-\d\d-\d\d[T ]/.test(sample(column)[0] ?? "");
    // "Zeit [s]" is a time in any language
    const unit = units[column] ?? null;
    const named = own.some((word) => timeWords.test(word)) || (unit !== null && factorIn(unit, "s") !== null);
    const counts = !named && own.some((word) => countWords.test(word));
    if (!rises || !(named || dated || column === 0)) return [];
    const common = own.filter((word) => words.includes(word)).length;
    const effort = own.includes("execution") || own.includes("algorithm") ? -4 : 0;
    // the recorder's own stamp in brackets is worth less than the time of the measurement
    return [{ column, score: 2 * common + (named ? 1 : 0) - (/^\[/.test(name) ? 1 : 0) + effort - (counts ? 3 : 0) }];
  });
  candidates.sort((a, b) => b.score - a.score || a.column - b.column);
  return candidates[0]?.column ?? null;
}
