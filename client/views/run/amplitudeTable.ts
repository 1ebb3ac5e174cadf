import { type Axis, axes, type Subject } from "../../../src/foundation/signals.ts";
import { roleSigns } from "../../app/verdictSigns.ts";
import { millimetres } from "../../app/words.ts";
import { meansOf, type RunVectors } from "../../figures/synchronousFigure.ts";
import { degreesText } from "../../figures/uncertainMillimetres.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";

type Role = "baseline" | "candidate";

/** Amplitude and phase of every run and of both means, millimetres and degrees. */
export function amplitudeTable(
  runs: readonly RunVectors[],
  labels: Readonly<Record<Role, string>>,
  {
    trajectory,
    subject,
    harmonic,
    axisName,
  }: { trajectory: string; subject: Subject; harmonic: number; axisName: (axis: Axis) => string },
): HTMLElement {
  const cells = (vector: readonly [number, number]): TableCell[] => {
    const phase = degreesText(Math.atan2(vector[1], vector[0]));
    return [
      numberCell(Math.hypot(...vector), (metres) => millimetres(metres, 2)),
      { text: phase, value: Number.parseInt(phase, 10) },
    ];
  };
  const means = meansOf(runs);
  const roles = (["baseline", "candidate"] as const).filter((role) => runs.some((run) => run.role === role));
  const row = (name: string, role: Role, vectors: readonly (readonly [number, number])[]): TableCell[] => [
    { text: name },
    { text: `${roleSigns[role]} ${labels[role]}`, value: labels[role] },
    ...vectors.flatMap(cells),
  ];
  return figuresTable({
    name: `${trajectory} ${subject} harmonic ${harmonic} amplitudes`,
    caption: `Amplitude and phase, harmonic ${harmonic}; a mean is that of the vectors, not of their lengths`,
    columns: ["run", "configuration", ...axes.flatMap((axis) => [`${axisName(axis)}, mm`, `${axisName(axis)} phase`])],
    fileColumns: [
      "run",
      "configuration",
      ...axes.flatMap((axis) => [`${axis} amplitude, m`, `${axis} phase, degrees`]),
    ],
    rows: roles.flatMap((role) => [
      ...runs
        .filter((run) => run.role === role)
        .map(({ run, phasors }) =>
          row(
            run,
            role,
            axes.map((axis) => phasors[axis].vector),
          ),
        ),
      row(
        `mean of ${runs.filter((run) => run.role === role).length}`,
        role,
        axes.map((axis) => means.find((mean) => mean.role === role && mean.axis === axis)!.region.mean),
      ),
    ]),
  });
}
