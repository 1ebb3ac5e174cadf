import { probabilityNumber } from "../../words/probability.ts";

/** A p with its name, such as `p 0.012`. */
export function probabilityText(p: number): string {
  return `p ${probabilityNumber(p)}`;
}
