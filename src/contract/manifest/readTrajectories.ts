import * as z from "zod";
import type { Campaign, Trajectory } from "../campaign.ts";
import { choice, count, field, mapping, optional, quantity } from "./fields.ts";
import { Complaint } from "./problems.ts";
import type { Reading } from "./reading.ts";
import { describeFound, type Path, type TextMapping, type TextTree } from "./textTree.ts";

const shape = choice(["circle", "line", "hold", "logged"], "a shape");
const period = quantity("time", "positive");
const cycles = count("the number of cycles");

/** The two axes of a plane in either order. */
const plane = field(
  (found): "xy" | "yz" | "xz" => {
    const sorted = typeof found === "string" ? [...found].sort().join("") : "";
    const known = (["xy", "yz", "xz"] as const).find((name) => name === sorted);
    if (known !== undefined) return known;
    throw new Complaint(`found ${describeFound(found)}, expected the plane of the circle: xy, yz or xz`, {
      hint: "the plane is in the command's frame",
      missing: found === undefined || found === null,
    });
  },
  { enum: ["xy", "yz", "xz", "yx", "zy", "zx"] },
);

const circle = mapping(
  {
    shape: choice(["circle"], "a shape").describe("the tool goes round"),
    plane: plane.describe("of the circle, in the command's frame"),
    radius: quantity("length", "positive").describe("of the circle"),
    speed: optional(quantity("speed", "positive")).describe("along the circle; or give the period"),
    period: optional(period).describe("of one turn; or give the speed"),
    cycles: cycles.describe("turns"),
  },
  "a circle",
);
const line = mapping(
  {
    shape: choice(["line"], "a shape").describe("the tool goes there and back"),
    axis: choice(["x", "y", "z"], "the axis of the line").describe("of the line, in the command's frame"),
    stroke: quantity("length", "positive").describe("from end to end"),
    period: period.describe("of once there and back"),
    cycles: cycles.describe("times there and back"),
  },
  "a line",
);
const hold = mapping(
  {
    shape: choice(["hold"], "a shape").describe("nothing but hovering"),
    duration: quantity("time", "positive").describe("of the hover"),
  },
  "a hold",
);
const logged = mapping(
  {
    shape: choice(["logged"], "a shape").describe("only the log knows what was commanded"),
    period: optional(period).describe("where it repeats: of one cycle"),
  },
  "a logged trajectory",
);
/** One trajectory, whichever shape it has. */
export const trajectoryField = z.union([circle, line, hold, logged]);

/**
 * What the runs were told to fly, by name.
 *
 * @param within  the block that holds `trajectories`, [] for the manifest itself
 */
export function readTrajectories(reading: Reading, root: TextMapping, within: Path = []): Campaign["trajectories"] {
  const path = [...within, "trajectories"];
  const tree = reading.mapping(root.trajectories, path, "a mapping from names to trajectories");
  const trajectories: Record<string, Trajectory> = {};
  for (const [name, entry] of Object.entries(tree ?? {})) {
    const found = readTrajectory(reading, entry, [...path, name]);
    if (found !== null) trajectories[name] = found;
  }
  return trajectories;
}

function readTrajectory(reading: Reading, tree: TextTree, path: Path): Trajectory | null {
  const known = reading.mapping(tree, path, "a trajectory: a mapping with a shape");
  if (known === null) return null;
  const word = reading.read(shape, known.shape, [...path, "shape"]);
  switch (word) {
    case "circle":
      return readCircle(reading, tree, path);
    case "line": {
      const found = reading.read(line, tree, path);
      return found === null ? null : { ...found, shape: "line" };
    }
    case "hold": {
      const found = reading.read(hold, tree, path);
      return found === null ? null : { shape: "hold", duration: found.duration };
    }
    case "logged": {
      const found = reading.read(logged, tree, path);
      return found === null ? null : { shape: "logged", period: found.period };
    }
    default:
      return null;
  }
}

/** Speed and period follow from each other: one turn is 2 pi radius long. */
function readCircle(reading: Reading, tree: TextTree, path: Path): Trajectory | null {
  const found = reading.read(circle, tree, path);
  if (found === null) return null;
  const { plane, radius, cycles } = found;
  const turn = 2 * Math.PI * radius;
  if (found.speed === null && found.period === null) {
    reading.complain(
      path,
      "found neither speed nor period, expected one of them",
      "add speed: 0.25 m/s or period: 1.5 s",
    );
    return null;
  }
  const period = found.period ?? turn / found.speed!;
  const speed = found.speed ?? turn / period;
  if (Math.abs(speed * period - turn) > 0.01 * turn) {
    const message = `found a speed of ${found.speed} m/s and a period of ${period} s, expected a period of ${(turn / speed).toPrecision(4)} s`;
    reading.complain([...path, "period"], message, "give one of them; the other follows from the radius");
    return null;
  }
  return { shape: "circle", plane, radius, speed, period, cycles };
}
