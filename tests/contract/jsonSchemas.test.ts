import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { csvParse } from "d3";
import { expect, test } from "vitest";
import { parse } from "yaml";
import { type JsonSchema, jsonSchemaOf, schemaNames } from "../../src/contract/jsonSchemas.ts";
import { axes, subjects } from "../../src/foundation/tracks.ts";
import { evaluationDictionary } from "../../tools/dictionary.ts";
import { describeWith } from "../support/available.ts";
import { inventedEvaluation } from "../support/inventedEvaluation.ts";
import { jsonFaults } from "../support/jsonFaults.ts";

const root = resolve(import.meta.dirname, "../..");
const sample = readFileSync(resolve(root, "sample-data/campaign.yaml"), "utf8");
const page = readFileSync(resolve(root, "client/manual/manifest.md"), "utf8");
const manuals = [...page.matchAll(/```yaml\n(title:[\s\S]*?)```/g)].map(([, block]) => block!);

interface Node {
  readonly path: string;
  readonly value: JsonSchema & { readonly unit?: string; readonly description?: string };
}
/** Every place of a schema; what an `anyOf`, a list or a mapping says of its members counts for them. */
function placesOf(value: JsonSchema, path = "", said: JsonSchema = {}): Node[] {
  const own = { ...("unit" in said ? { unit: said.unit } : {}), ...value } as Node["value"];
  const members = (list: unknown): Node[] =>
    ((list ?? []) as JsonSchema[]).flatMap((each) => placesOf(each, path, own));
  const open = value.additionalProperties;
  return [
    { path, value: own },
    ...members(value.anyOf),
    ...members(value.prefixItems),
    ...(typeof value.items === "object" ? placesOf(value.items as JsonSchema, `${path}[]`, own) : []),
    ...(typeof open === "object" ? placesOf(open as JsonSchema, `${path}.*`, own) : []),
    ...Object.entries((value.properties ?? {}) as Record<string, JsonSchema>).flatMap(([key, each]) =>
      placesOf(each, `${path}.${key}`),
    ),
  ];
}

test("every number of an evaluation has a unit, and every key says what it is", () => {
  const places = placesOf(jsonSchemaOf("evaluation"));
  const numbers = places.filter(({ value }) => value.type === "number" || value.type === "integer");
  expect(numbers.length).toBeGreaterThan(500);
  const bare = numbers.filter(({ path, value }) => value.unit === undefined && path !== ".schema");
  expect(bare.map(({ path }) => path)).toEqual([]);
  const selfEvident: readonly string[] = [...axes, ...subjects, "roll", "pitch", "yaw"];
  const dumb = places.filter(({ path, value }) => {
    const key = path.split(".").at(-1)!;
    const isKey = key !== "" && !key.endsWith("[]") && key !== "*" && !selfEvident.includes(key);
    return (
      isKey && value.description === undefined && !places.some((each) => each.path === path && each.value.description)
    );
  });
  expect(dumb.map(({ path }) => path)).toEqual([]);
});

test("every key of a manifest and of a table of runs says what it is", () => {
  for (const name of ["manifest", "runs"] as const) {
    const keys = placesOf(jsonSchemaOf(name)).filter(({ path }) => /\.[a-z_]+$/.test(path));
    expect(keys.length).toBeGreaterThan(12);
    for (const { path } of keys)
      expect(
        keys.some((each) => each.path === path && each.value.description !== undefined),
        `${name} ${path}`,
      ).toBe(true);
  }
});

test("the data dictionary has a row for every key of an evaluation", () => {
  const text = evaluationDictionary();
  const rows = [...text.matchAll(/^\| `([^`]+)` \|/gm)].map(([, path]) => path!);
  const isNamed = (path: string): boolean =>
    rows.some((row) => {
      const pattern = row
        .split(".")
        .map((step) => {
          const [, names, lists] = /^(.*?)((?:\[\])*)$/.exec(step)!;
          const lasts = "\\[\\]".repeat(lists!.length / 2);
          return `${names === "*" ? "[^.]+" : `(${names!.split("/").join("|")})`}${lasts}`;
        })
        .join("\\.");
      return new RegExp(`^${pattern}$`).test(path);
    });
  const paths = new Set<string>();
  const walk = (value: unknown, path: string): void => {
    if (path !== "") paths.add(path);
    if (Array.isArray(value)) for (const each of value) typeof each === "object" && walk(each, `${path}[]`);
    else if (typeof value === "object" && value !== null)
      for (const [key, each] of Object.entries(value)) walk(each, path === "" ? key : `${path}.${key}`);
  };
  walk(JSON.parse(JSON.stringify(inventedEvaluation())), "");
  // evidence and settings are mappings of names that no schema lists
  const left = [...paths].filter(
    (path) => !path.endsWith("[]") && !isNamed(path) && !isNamed(path.replace(/\.[^.]+$/, "")),
  );
  expect(paths.size).toBeGreaterThan(150);
  expect(left).toEqual([]);
});

describeWith(["jsonschema"], "by another program's reading of the schemas", () => {
  test("the sample's manifest and the manual's fit that of the manifest, and what is wrong does not", () => {
    const faulty: readonly [string, string, string][] = [
      ["radius: 60 mm", "radius: 60", "trajectories/orbit"],
      ["smallest_difference: 1.5 mm", "smallest_difference: <LENGTH>", "smallest_difference"],
      ["baseline:", "baselin:", "/"],
      ["topic: /mocap/airframe", "topick: /mocap/airframe", "signals/vehicle_pose"],
    ];
    const documents = [sample, ...manuals, ...faulty.map(([from, to]) => sample.replace(from, to))];
    const faults = jsonFaults(
      jsonSchemaOf("manifest"),
      documents.map((text) => parse(text) as unknown),
    );
    expect(manuals.length).toBe(1);
    expect(faults.slice(0, 2)).toEqual([[], []]);
    for (const [k, [, , place]] of faulty.entries()) expect(faults[k + 2], place).toContain(place);
  });

  test("a bench takes no flights, but something of both there must be", () => {
    const { signals: _, runs: __, bench: ___, ...rest } = parse(sample) as Record<string, unknown>;
    const manual = readFileSync(resolve(root, "client/manual/bench.md"), "utf8");
    const { bench } = parse(/```yaml\n([\s\S]*?)```/.exec(manual)![1]!) as Record<string, unknown>;
    expect(bench).toMatchObject({ sensor: { sign: "on_sensor" }, runs: "bench.csv" });
    const [withBench, without] = jsonFaults(jsonSchemaOf("manifest"), [{ ...rest, bench }, rest]);
    expect(withBench).toEqual([]);
    expect(without!.length).toBeGreaterThan(0);
  });

  test("a table of runs fits that of runs, and a misspelled column does not", () => {
    const table = "log,configuration,trajectory,span,logs.mocap\n1.bag,bare,orbit,30 s..95 s,1.c3d\n";
    const rows = (text: string): unknown => csvParse(text).map((row) => ({ ...row }));
    const faults = jsonFaults(jsonSchemaOf("runs"), [rows(table), rows(table.replace("trajectory", "trajektory"))]);
    expect(faults).toEqual([[], ["0", "0"]]);
  });

  test("an evaluation fits that of evaluations, one without a figure does not, and each is a schema of 2020-12", () => {
    const evaluation = JSON.parse(JSON.stringify(inventedEvaluation())) as { runs: { period?: unknown }[] };
    const without = structuredClone(evaluation);
    delete without.runs[0]!.period;
    expect(jsonFaults(jsonSchemaOf("evaluation"), [evaluation, without])).toEqual([[], ["runs/0"]]);
    for (const name of schemaNames)
      expect(jsonSchemaOf(name).$schema).toBe("https://json-schema.org/draft/2020-12/schema");
  });
});
