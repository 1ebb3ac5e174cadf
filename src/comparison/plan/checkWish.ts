import { CounterpoiseError } from "../../foundation/errors.ts";

/**
 * What a person may ask of a plan: whole numbers, at least 2 runs per configuration, from 1 block to as many as runs.
 *
 * @throws CounterpoiseError  code `not-a-plan`
 */
export function checkWish({
  runs,
  blocks,
}: {
  readonly runs?: number | undefined;
  readonly blocks?: number | undefined;
}): void {
  if (runs !== undefined && !(Number.isSafeInteger(runs) && runs >= 2)) {
    refuse(
      `found ${runs} runs per configuration, expected a whole number of at least 2`,
      "a single run shows nothing of the spread between runs",
    );
  }
  if (blocks !== undefined && !(Number.isSafeInteger(blocks) && blocks >= 1)) {
    refuse(`found ${blocks} blocks, expected a whole number of at least 1`, "a block is a day, or a stretch of one");
  }
  if (runs !== undefined && blocks !== undefined && blocks > runs) {
    refuse(
      `found ${blocks} blocks for ${runs} runs per configuration, expected at most as many blocks as runs`,
      "every block has to fly every configuration, else blocks and configurations cannot be separated",
    );
  }
}

function refuse(message: string, hint: string): never {
  throw new CounterpoiseError("not-a-plan", message, { hint });
}
