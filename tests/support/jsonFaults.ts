import { spawnSync } from "node:child_process";
import { python } from "./available.ts";

/** Debian's python3-jsonschema: an implementation of JSON Schema 2020-12 that knows nothing of ours. */
const program = `
import json, sys
from jsonschema import Draft202012Validator
schema, documents = json.load(sys.stdin)
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)
print(json.dumps([
    sorted("/".join(str(step) for step in error.absolute_path) or "/" for error in validator.iter_errors(document))
    for document in documents
]))
`;

/** Places of documents that a JSON Schema refuses, sorted; only to be called inside `describeWith(["jsonschema"], ...)`. */
export function jsonFaults(schema: unknown, documents: readonly unknown[]): string[][] {
  const { status, stdout, stderr } = spawnSync(python, ["-c", program], {
    input: JSON.stringify([schema, documents]),
    encoding: "utf8",
    maxBuffer: 1 << 28,
  });
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as string[][];
}
