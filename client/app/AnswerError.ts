import type { Fault } from "../../src/contract/api/paths.ts";

/** What the service said instead of an answer, or why it said nothing. */
export class AnswerError extends Error {
  readonly code: string;
  readonly place: string | undefined;
  readonly hint: string | undefined;

  constructor({ code, message, place, hint }: Fault) {
    super(message);
    this.name = "AnswerError";
    this.code = code;
    this.place = place;
    this.hint = hint;
  }
}
