import type { LogSurvey } from "../../foundation/recording.ts";
import type { LogReader } from "../LogReader.ts";
import { lengthUnit } from "./lengthUnit.ts";
import { openC3d } from "./openC3d.ts";
import { state } from "./pointState.ts";
import { proposeBodies } from "./proposeBodies.ts";
import { endOf, readC3d } from "./readC3d.ts";
import { repeatedLabels } from "./repeatedLabels.ts";

/** Reads point files in the C3D format. Times count from the first frame: the format does not say when that was. */
export const c3dReader: LogReader = {
  read: readC3d,
  survey: async (path) => survey(path),
  stamps: async () => ({ topics: new Map(), damage: [] }),
};

function survey(path: string): LogSurvey {
  const file = openC3d(path);
  const { labels, frames, states, unit, rate, notes } = file;
  const count = (point: number, wanted: number): number => {
    let found = 0;
    for (let frame = 0; frame < frames; frame++) if (states[frame * labels.length + point] === wanted) found++;
    return found;
  };
  const length = lengthUnit(unit);
  return {
    file: path,
    format: "C3D",
    bytes: file.bytes,
    compression: [],
    start: frames === 0 ? null : 0n,
    end: frames === 0 ? null : endOf(file),
    messages: frames,
    topics: [],
    recovered: notes.length === 0 ? null : notes.join("; "),
    points: {
      unit,
      rate,
      markers: labels.map((label, point) => ({
        label,
        measured: count(point, state.measured),
        modelled: count(point, state.modelled),
        missing: count(point, state.missing),
      })),
      bodies: "found" in length ? [] : proposeBodies(file, length.metres),
      notes: [
        ...("found" in length ? [`found ${length.found}, expected mm, cm or m; ${length.hint}`] : []),
        ...ambiguous(labels),
        ...file.checks.map(({ message }) => message),
      ],
    },
  };
}

/** Labels that several points bear cannot be declared, which a person has to know before the capture is exported again. */
function ambiguous(labels: readonly string[]): string[] {
  const repeated = [...repeatedLabels(labels)];
  if (repeated.length === 0) return [];
  const told = repeated.slice(0, 20).map(([label, numbers]) => `${label} (points ${numbers.join(", ")})`);
  const more = repeated.length > told.length ? ` and ${repeated.length - told.length} more` : "";
  return [
    `several points bear the same label, so that it cannot be told which is meant: ${told.join("; ")}${more}; they are left out of the bodies below`,
  ];
}
