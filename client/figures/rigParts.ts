import type { SetupAnswer } from "../../src/contract/api/campaignAnswer.ts";
import { massText } from "../app/words.ts";
import type { Group } from "./axes.ts";
import type { Tone } from "./Figure.ts";

/** A run as the rig is drawn from it. */
export interface RigRun extends SetupAnswer {
  readonly trajectory: string;
  readonly tone: Tone;
  /** what contradicts: by a finding about frames, or by where it was */
  readonly doubted: { readonly vehicle: boolean; readonly tool: boolean };
}

/** What is drawn beside the runs. */
export interface RigMarks {
  /** masses and where they sit in the vehicle's frame */
  readonly weights: readonly { readonly mass: number; readonly at: Point; readonly tone: Tone }[];
  /** the vehicle's centre of mass in the vehicle's frame */
  readonly com: Point | null;
  /** what lies elsewhere than it should: from where it should be to where it was, in the colour of doubts, with the distance */
  readonly gaps: readonly {
    readonly of: "tool" | "vehicle";
    readonly from: Point;
    readonly to: Point;
    readonly text: string;
  }[];
}

export type Point = readonly [number, number, number];

export type Placer = (point: Point) => [number, number];

/** A vehicle as a dart that shows its nose (a dashed one where the setpoint faces another way), its arm base as a square. */
export function vehicle(own: Group, run: RigRun, at: Placer, size: number): void {
  const { hover, heading, heading_commanded: asked, arm_base: base } = run;
  const dart = (angle: number, name: string): void => {
    const place = fromVehicle(hover!, angle);
    const corners = [
      [size, 0],
      [-size / 2, size / 2],
      [-size / 4, 0],
      [-size / 2, -size / 2],
    ] as const;
    const text = corners.map(([forward, left]) =>
      at(place([forward, left, 0]))
        .map((v) => v.toFixed(1))
        .join(),
    );
    own
      .append("path")
      .attr("class", name)
      .attr("d", `M${text.join("L")}Z`);
  };
  if (size > 0 && heading !== null) dart(heading, "rig-vehicle");
  if (size > 0 && heading !== null && asked !== null && Math.cos(heading - asked) < askedApart)
    dart(asked, "rig-vehicle-asked");
  const [cx, cy] = at(hover!);
  own.append("circle").attr("class", "rig-point").attr("cx", cx).attr("cy", cy).attr("r", 2.5);
  if (base !== null) {
    const [bx, by] = at(base);
    own.append("path").attr("class", "rig-arm").attr("d", `M${cx},${cy}L${bx},${by}`);
    own
      .append("rect")
      .attr("class", "rig-base")
      .attr("x", bx - 3)
      .attr("y", by - 3)
      .attr("width", 6)
      .attr("height", 6);
  }
}

/** cosine of the angle between noses from which both are drawn: 10 degrees */
const askedApart = Math.cos(Math.PI / 18);

/** From the level vehicle's frame to the world. */
function fromVehicle(hover: Point, heading: number): (place: Point) => Point {
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  return ([forward, left, above]) => [
    hover[0] + c * forward - s * left,
    hover[1] + s * forward + c * left,
    hover[2] + above,
  ];
}

/** Counterweights as discs with their mass, at the first run's hover. */
export function drawWeights(inside: Group, runs: readonly RigRun[], weights: RigMarks["weights"], at: Placer): void {
  const first = runs.find(({ hover }) => hover !== null);
  if (first === undefined) return;
  const place = fromVehicle(first.hover!, first.heading ?? 0);
  const labelled = new Set<number>();
  for (const { mass, at: where, tone } of weights) {
    const [wx, wy] = at(place(where));
    const own = inside.append("g").attr("class", `tone-${tone}`);
    own.append("circle").attr("class", "rig-weight").attr("cx", wx).attr("cy", wy).attr("r", 5);
    if (labelled.has(mass)) continue;
    labelled.add(mass);
    const alike = weights.filter((weight) => weight.mass === mass).length;
    const text = alike === 1 ? massText(mass) : `${alike} × ${massText(mass)}`;
    own
      .append("text")
      .attr("class", "label")
      .attr("x", wx - 9)
      .attr("y", wy + 4)
      .attr("text-anchor", "end")
      .text(text);
  }
}

/** The centre of mass on the first vehicle: a circle of which two quarters are filled, as on drawings. */
export function drawCentreOfMass(inside: Group, runs: readonly RigRun[], com: Point, at: Placer): void {
  const first = runs.find(({ hover }) => hover !== null);
  if (first === undefined) return;
  const [x, y] = at(fromVehicle(first.hover!, first.heading ?? 0)(com));
  const own = inside.append("g").attr("class", "rig-com");
  own.append("circle").attr("cx", x).attr("cy", y).attr("r", 6);
  own.append("path").attr("d", `M${x},${y}v-6a6,6 0 0 1 6,6zM${x},${y}v6a6,6 0 0 1 -6,-6z`);
}

/** From where something should be to where it was, in the colour of doubts. */
export function drawGap(inside: Group, { from, to }: RigMarks["gaps"][number], at: Placer): void {
  const [[ax, ay], [bx, by]] = [at(from), at(to)];
  inside.append("path").attr("class", "rig-gap").attr("d", `M${ax},${ay}L${bx},${by}`);
  inside.append("circle").attr("class", "rig-gap-end").attr("cx", bx).attr("cy", by).attr("r", 4);
}

/** pixels */
const leastLabelled = 24;

export function labelGap(inside: Group, { from, to, text }: RigMarks["gaps"][number], at: Placer, share: number): void {
  const [[ax, ay], [bx, by]] = [at(from), at(to)];
  // along the line of sight it would stand on a point; a short one is labelled in the closer view
  if (Math.hypot(bx - ax, by - ay) < leastLabelled) return;
  inside
    .append("text")
    .attr("class", "label rig-gap-text")
    .attr("x", ax + share * (bx - ax) + 9)
    .attr("y", ay + share * (by - ay) + 4)
    .text(text);
}
