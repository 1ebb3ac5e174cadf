import type { Check } from "../../foundation/checks.ts";

/** What a step adds to the record of a run, and what it found wrong. `adds` null: nothing after it can be done. */
export interface Stage<T extends object> {
  readonly adds: T | null;
  readonly checks: readonly Check[];
}

/** A step of the alignment: what is known of the run in, with the checks so far; what it adds to that out. */
export type Step<T extends object, U extends object> = (record: T, checks: readonly Check[]) => Stage<U>;

/**
 * The record of one run, which grows step by step. A step is only called with what the steps before it added; where one of them
 * could not be done, those after it are left out, and the record says how far the run came.
 */
export class Alignment<T extends object> {
  /** what is known, of a run that came to its end; null where it did not */
  readonly whole: T | null;
  /** what is known, however far the run came */
  readonly known: Partial<T>;
  readonly checks: readonly Check[];

  private constructor(known: Partial<T>, whole: T | null, checks: readonly Check[]) {
    this.known = known;
    this.whole = whole;
    this.checks = checks;
  }

  static begin<T extends object>(record: T, checks: readonly Check[]): Alignment<T> {
    return new Alignment(record, record, checks);
  }

  step<U extends object>(step: Step<T, U>): Alignment<T & U> {
    if (this.whole === null) return new Alignment<T & U>(this.known as Partial<T & U>, null, this.checks);
    const { adds, checks } = step(this.whole, this.checks);
    const all = [...this.checks, ...checks];
    if (adds === null) return new Alignment<T & U>(this.whole as Partial<T & U>, null, all);
    const grown = { ...this.whole, ...adds };
    return new Alignment<T & U>(grown, grown, all);
  }
}
