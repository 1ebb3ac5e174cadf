import * as z from "zod";
import type { Quaternion, Radians, Vector3 } from "../../foundation/units.ts";
import type { Frames, RigidTransform } from "../campaign.ts";
import { choice, mapping, optional, quantity, triple } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { isList, isMapping, type Path, type TextMapping, type TextTree } from "./textTree.ts";

const world = mapping(
  { up: choice(["z", "y"], "the axis that points up").describe("the axis that points up") },
  "the capture world",
);
const point = triple("length", "a point of three lengths such as [60 mm, 0 mm, -120 mm]");
const angles = triple("angle", "three angles roll, pitch, yaw such as [0 deg, 0 deg, 90 deg]");
export const transform = mapping(
  {
    translation: optional(point).describe("x, y, z"),
    rotation: optional(angles).describe("roll, pitch, yaw"),
  },
  "a transform",
);
const uncertainty = mapping(
  {
    length: optional(quantity("length", "not-negative")).describe("of their places"),
    angle: optional(quantity("angle", "not-negative")).describe("of their turns"),
  },
  "by how much tool point and arm base may be off",
);
/** The keys of `frames`; each is read by itself, for some may be written in several ways. */
export const frameFields = {
  world: optional(world).describe("of the capture system"),
  onboard: optional(z.union([transform, z.record(z.string(), transform)])).describe(
    "the vehicle's own world in the capture world, from survey: one transform, or one for each block by its name",
  ),
  tool_point: optional(point).describe("the point that works, in the effector's marker frame"),
  body_point: optional(point).describe("the point that is judged, in the vehicle's marker frame"),
  arm_base: optional(z.union([point, transform])).describe(
    "where the arm's command counts from, in the vehicle's body frame",
  ),
  uncertainty: optional(uncertainty).describe("by how much tool point and arm base may be off"),
};
const frameKeys = Object.keys(frameFields);
const origin: Vector3 = [0, 0, 0];
const identity: RigidTransform = { translation: origin, rotation: [0, 0, 0, 1] };

/** The frames of the campaign; each that is not declared is the identity and says so. */
export function readFrames(reading: Reading, root: TextMapping): Frames {
  const tree = root.frames ?? {};
  const frames = reading.mapping(tree, ["frames"], `a mapping with the keys ${frameKeys.join(", ")}`) ?? {};
  for (const key of Object.keys(frames)) {
    if (!frameKeys.includes(key)) reading.unknownKey(["frames", key], frameKeys);
  }
  const pointAt = (key: string): Vector3 | null => reading.read(optional(point), frames[key], ["frames", key]);
  const toolPoint = pointAt("tool_point");
  const bodyPoint = pointAt("body_point");
  const armBase = isList(frames.arm_base)
    ? { translation: pointAt("arm_base") ?? origin, rotation: identity.rotation }
    : readTransform(reading, frames.arm_base, ["frames", "arm_base"]);
  const onboard = readOnboard(reading, frames.onboard);
  const off = reading.read(optional(uncertainty), frames.uncertainty, ["frames", "uncertainty"]);
  return {
    worldUp: reading.read(optional(world), frames.world, ["frames", "world"])?.up ?? "z",
    onboard: onboard.general ?? identity,
    onboardDeclared: onboard.general !== null,
    onboardByBlock: onboard.byBlock,
    toolPoint: toolPoint ?? origin,
    toolPointDeclared: toolPoint !== null,
    bodyPoint: bodyPoint ?? origin,
    bodyPointDeclared: bodyPoint !== null,
    armBase: armBase ?? identity,
    armBaseDeclared: armBase !== null,
    uncertainty: { length: off?.length ?? null, angle: off?.angle ?? null },
  };
}

export function readTransform(reading: Reading, tree: TextTree | undefined, path: Path): RigidTransform | null {
  if (tree === undefined || tree === null) return null;
  const found = reading.read(transform, tree, path);
  if (found === null) return null;
  if (found.translation === null && found.rotation === null) {
    reading.complain(path, "found an empty mapping, expected translation, rotation or both");
    return null;
  }
  const rotation = found.rotation === null ? identity.rotation : rotationFromAngles(...found.rotation);
  return { translation: found.translation ?? origin, rotation };
}

/** One transform for all, or one per block: under `blocks`, or with the blocks' names as keys. */
function readOnboard(
  reading: Reading,
  tree: TextTree | undefined,
): { general: RigidTransform | null; byBlock: Record<string, RigidTransform> } {
  const path = ["frames", "onboard"];
  const { blocks, ...rest } = isMapping(tree) ? tree : {};
  const entries = Object.values(rest);
  // translation and rotation are lists, so a mapping of nothing but mappings speaks of blocks
  const bare = blocks === undefined && entries.length > 0 && entries.every(isMapping);
  const byBlock: Record<string, RigidTransform> = {};
  const blockPath = bare ? path : [...path, "blocks"];
  const blockTree = bare ? rest : blocks === undefined ? {} : reading.mapping(blocks, blockPath, "transforms by block");
  for (const [block, entry] of Object.entries(blockTree ?? {})) {
    const found = readTransform(reading, entry ?? {}, [...blockPath, block]);
    if (found !== null) byBlock[block] = found;
  }
  if (bare || (blocks !== undefined && entries.length === 0)) return { general: null, byBlock };
  return { general: readTransform(reading, isMapping(tree) ? rest : tree, path), byBlock };
}

/** Blocks with a transform of their own are flown, and where there is no general one every flown block has its own. */
export function checkOnboardBlocks(
  reading: Reading,
  frames: Frames,
  runs: readonly { readonly id: string; readonly block: string | null }[],
): void {
  const declared = Object.keys(frames.onboardByBlock);
  if (declared.length === 0) return;
  const flown = [...new Set(runs.map(({ block }) => block).filter((block) => block !== null))];
  const path = ["frames", "onboard"];
  for (const block of declared) {
    if (!flown.includes(block))
      reading.unknownName([...path, block], block, { what: "the block of a run", known: flown });
  }
  if (frames.onboardDeclared) return;
  const without = runs.find(({ block }) => block === null || !declared.includes(block));
  if (without === undefined) return;
  const whose = without.block === null ? `run ${without.id}, which names no block` : `block ${without.block}`;
  const message = `found no transform for ${whose}, expected one for every block that is flown`;
  reading.complain(path, message, "add the block, or a general translation and rotation beside `blocks`");
}

/**
 * Quaternion of intrinsic z-y'-x'' angles: turn by yaw about z, by pitch about the new y, by roll about the newest x.
 *
 *   q = qz(yaw) qy(pitch) qx(roll)
 *
 * The numeric room has this too; a room does not reach a neighbour on its own floor, and this is the one place
 * where the contract needs it.
 *
 * @returns x y z w, unit norm, Hamilton, child in parent
 * @source J. Diebel, Representing Attitude, Stanford University (2006), section 8.11 (sequence 3-2-1)
 */
function rotationFromAngles(roll: Radians, pitch: Radians, yaw: Radians): Quaternion {
  const [sr, cr] = [Math.sin(roll / 2), Math.cos(roll / 2)];
  const [sp, cp] = [Math.sin(pitch / 2), Math.cos(pitch / 2)];
  const [sy, cy] = [Math.sin(yaw / 2), Math.cos(yaw / 2)];
  return [
    cy * cp * sr - sy * sp * cr,
    cy * sp * cr + sy * cp * sr,
    sy * cp * cr - cy * sp * sr,
    cy * cp * cr + sy * sp * sr,
  ];
}
