import type { StampColumn } from "../../foundation/recording.ts";

/**
 * The times of a transform tree's messages, from those of its transforms: transforms that were received at the same instant
 * came in one message, and the first speaks for it. Without this a tree of three frames looks three times as fast.
 */
export function onePerMessage(times: {
  readonly received: StampColumn;
  readonly stamped: StampColumn | null;
  readonly zeroStamps: number;
}): { readonly received: StampColumn; readonly stamped: StampColumn | null; readonly zeroStamps: number } {
  const { received, stamped } = times;
  const first = received.seconds.map((time, i) => (i === 0 || time !== received.seconds[i - 1] ? 1 : 0));
  const thin = ({ epoch, seconds }: StampColumn): StampColumn => ({
    epoch,
    seconds: seconds.filter((_, i) => first[i] === 1),
  });
  const kept = stamped === null ? null : thin(stamped);
  return {
    received: thin(received),
    stamped: kept,
    zeroStamps: kept === null ? 0 : kept.seconds.filter(Number.isNaN).length,
  };
}
