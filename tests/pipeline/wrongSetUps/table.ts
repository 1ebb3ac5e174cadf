import { clockSlips } from "./clockSlips.ts";
import { commandSlips } from "./commandSlips.ts";
import { faultSlips } from "./faultSlips.ts";
import { fileSlips } from "./fileSlips.ts";
import { frameSlips } from "./frameSlips.ts";
import type { WrongSetUp } from "./setUpTable.ts";
import { unitSlips } from "./unitSlips.ts";

/** Every wrong set-up, by what is wrong. */
export const wrongSetUps = {
  frames: frameSlips,
  units: unitSlips,
  clocks: clockSlips,
  commands: commandSlips,
  files: fileSlips,
  faults: faultSlips,
} satisfies Record<string, readonly WrongSetUp[]>;
