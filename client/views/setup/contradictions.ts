import { type Axis, axes } from "../../../src/foundation/tracks.ts";
import { countText, fixed, lengthText } from "../../app/words.ts";
import type { RigRun } from "../../figures/rigParts.ts";

/** metres between tool and command, and between hover and setpoint, and angle between noses, from which they contradict each other */
const farTool = 0.02;
const farVehicle = 0.08;
const farNose = Math.PI / 18;

/** What was flown lies elsewhere than what was asked for, in so many runs that it is the set-up's. */
export interface Contradiction {
  readonly of: "tool" | "vehicle" | "nose";
  readonly runs: readonly string[];
  /** metres, or radians for a nose: the middle of the runs */
  readonly size: number;
  /** as a sentence */
  readonly words: string;
}

/**
 * Where the middle of the flown lies far from the middle of the asked for: of the tool and of the vehicle, and by how much noses
 * point elsewhere than their setpoint. The runs of one trajectory are taken together, whatever their configuration, so that no
 * difference between configurations can be read off; a run that is off by itself stands by itself.
 */
export function contradictions(runs: readonly RigRun[]): Contradiction[] {
  const found: Contradiction[] = [];
  const all = <T>(of: (run: RigRun) => T | null): { run: RigRun; value: T }[] =>
    runs.flatMap((run) => {
      const value = of(run);
      return value === null ? [] : [{ run, value }];
    });
  const vehicles = all(({ hover, setpoint }) => (hover === null || setpoint === null ? null : minus(hover, setpoint)));
  for (const group of groupsOf(vehicles, farVehicle))
    found.push({
      ...group,
      of: "vehicle",
      words: `The vehicle hovers ${distanceText(group.size)} from its setpoint${directionOf(group.mean)} (${countText(group.runs.length, "run")}): world axes, the onboard world, or the two bodies exchanged?`,
    });
  for (const trajectory of new Set(runs.map((run) => run.trajectory))) {
    const tools = all((run) => (run.trajectory === trajectory ? toolOff(run) : null));
    for (const group of groupsOf(tools, farTool))
      found.push({
        ...group,
        of: "tool",
        words: `In ${trajectory} the tool works ${distanceText(group.size)} from where its command lies${directionOf(group.mean)} (${countText(group.runs.length, "run")}): tool point, arm base, or the onboard world?`,
      });
  }
  const noses = all(({ heading, heading_commanded: asked }) =>
    heading === null || asked === null ? null : Math.atan2(Math.sin(heading - asked), Math.cos(heading - asked)),
  ).filter(({ value }) => Math.abs(value) >= farNose);
  if (noses.length > 0) {
    const size = middle(noses.map(({ value }) => Math.abs(value)));
    found.push({
      of: "nose",
      runs: noses.map(({ run }) => run.run),
      size,
      words: `Noses point ${Math.round((size * 180) / Math.PI)}° away from where the setpoint faces (${countText(noses.length, "run")}): the capture turned, or the vehicle's markers?`,
    });
  }
  return found;
}

/** Millimetres, or metres from one on. */
export function distanceText(metres: number): string {
  return metres < 1 ? lengthText(metres) : `${fixed(metres, 2)} m`;
}

type Vector = readonly [number, number, number];

/** Mean of the tool less mean of its command, along the world's axes; null where one of them is not there. */
export function toolOff({ tool, command }: Pick<RigRun, "tool" | "command">): Vector | null {
  if (tool.x.length === 0 || command.x.length === 0) return null;
  return minus(middleOf(tool), middleOf(command));
}

export function middleOf(path: RigRun["tool"]): Vector {
  return axes.map((axis) => path[axis].reduce((sum, value) => sum + value, 0) / path[axis].length) as unknown as Vector;
}

interface Group {
  readonly runs: readonly string[];
  readonly size: number;
  readonly mean: Vector;
}

/** All runs as one where the middle of them is far; else each that is far by itself, together. */
function groupsOf(offs: readonly { readonly run: RigRun; readonly value: Vector }[], far: number): Group[] {
  if (offs.length === 0) return [];
  const lengths = offs.map(({ value }) => Math.hypot(...value));
  const isCommon = middle(lengths) >= far;
  const among = isCommon ? offs : offs.filter((_, k) => lengths[k]! >= far);
  if (among.length === 0) return [];
  const mean = [0, 1, 2].map((k) => among.reduce((sum, { value }) => sum + value[k]!, 0) / among.length);
  return [
    {
      runs: among.map(({ run }) => run.run),
      size: middle(among.map(({ value }) => Math.hypot(...value))),
      mean: mean as unknown as Vector,
    },
  ];
}

const sides: Readonly<Record<Axis, readonly [string, string]>> = {
  x: ["along +x", "along −x"],
  y: ["along +y", "along −y"],
  z: ["above it", "below it"],
};

/** @example directionOf([0, 0.001, 0.045]) // => ", mostly above it"; "" where it points along no axis */
function directionOf(mean: Vector): string {
  const length = Math.hypot(...mean);
  const k = mean.findIndex((value) => Math.abs(value) > 0.9 * length);
  return k < 0 ? "" : `, mostly ${sides[axes[k]!][mean[k]! > 0 ? 0 : 1]}`;
}

function minus(a: Vector, b: Vector): Vector {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor((sorted.length - 1) / 2)]!;
}
