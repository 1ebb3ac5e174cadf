import type { Fault } from "../src/contract/api/fault.ts";

/** The one table from error codes to HTTP statuses. What is not named here is a fault of the tool: 500. */
const statuses: Readonly<Record<string, number>> = {
  "bad-query": 400,
  "bad-body": 400,
  "bad-address": 400,
  "reason-refused": 400,
  "not-a-plan": 400,
  "no-sham": 400,
  blind: 403,
  "foreign-origin": 403,
  "unknown-address": 404,
  "unknown-run": 404,
  "unknown-cell": 404,
  "unknown-subject": 404,
  "wrong-method": 405,
  "manifest-at-fault": 409,
  "body-too-large": 413,
  "not-json": 415,
  "wrong-host": 421,
  "log-unreadable": 422,
  "nothing-to-draw": 422,
  "not-written": 500,
  "answer-invalid": 500,
  "not-evaluated": 503,
  "too-many-streams": 503,
  "not-built": 503,
};

/** Faults of the files on the disk, told while a change was asked for: in conflict with what is there. */
const ofTheFiles = /^(manifest|yaml|csv|exclusions?|runs|looks)-/;

/** The status of an answer that carries this fault. */
export function statusOf({ code }: Pick<Fault, "code">): number {
  return statuses[code] ?? (ofTheFiles.test(code) ? 409 : 500);
}
