import type { CellConstant, ConstantRole } from "../contract/cell.ts";

/** What the offset is to the verdict, as part of a sentence. */
export function constantWords({ share, common, step, sd }: CellConstant, role: ConstantRole | "carries"): string {
  const spread =
    sd === null ? "" : `${millimetres(sd.difference)} mm${sd.p === null ? "" : ` (p ${probability(sd.p)})`}`;
  const offset = `a constant offset of ${Math.abs(1e3 * common).toFixed(1)} mm`;
  switch (role) {
    case "explains":
      return `the difference is one of constant offset, not of steadiness: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "drowns":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square, so that the rms hardly knows of the spread about it, which differs by ${spread}`;
    case "hides":
      return `the spread about the mean error differs by ${spread}, which the rms does not show beside ${offset} on average, which steps by ${millimetres(step)} mm with the configuration`;
    case "adds":
      return `most of the difference is one of constant offset: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "carries":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square; the spread about it differs by ${spread}`;
  }
}

function millimetres(metres: number): string {
  const value = 1e3 * metres;
  return `${value < 0 ? "" : "+"}${value.toFixed(1)}`;
}

function probability(p: number): string {
  return p < 0.001 ? "below 0.001" : p.toPrecision(2);
}
