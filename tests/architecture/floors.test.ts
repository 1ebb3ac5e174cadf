import { readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, join, relative, resolve } from "node:path";
import { expect, test } from "vitest";

const root = resolve(import.meta.dirname, "../..");

/** The house (DEVELOPERS.md): a room may import itself and the floors below, never a neighbour, never above. */
const floors: Record<string, number> = {
  "src/foundation": 0,
  "src/catalogue": 0.5,
  "src/numeric": 1,
  "src/contract": 1,
  "src/words": 1.5,
  "src/readers": 2,
  "src/alignment": 2,
  "src/metrics": 2,
  "src/comparison": 2,
  "src/report": 2,
  "src/simulation": 2,
  "src/bench": 2.5,
  "src/pipeline": 3,
  server: 4,
  client: 4,
  "src/cli": 5,
};
/** Rooms that must also run in a browser or know nothing of disk and clock. */
const noNode = [
  "src/foundation",
  "src/catalogue",
  "src/numeric",
  "src/contract",
  "src/words",
  "src/alignment",
  "src/metrics",
  "src/comparison",
  "src/report",
  "src/simulation",
  "src/bench",
  "client",
];
const clientSees = ["client", "src/catalogue", "src/contract", "src/words", "src/numeric", "src/foundation"];

function filesBelow(folder: string): string[] {
  let entries: string[];
  try {
    entries = readdirSync(folder);
  } catch {
    return [];
  }
  return entries.flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return filesBelow(path);
    return /\.(ts|tsx)$/.test(name) ? [path] : [];
  });
}

function roomOf(path: string): string | null {
  const name = relative(root, path);
  return Object.keys(floors).find((room) => name.startsWith(`${room}/`)) ?? null;
}

interface Import {
  from: string;
  line: number;
  specifier: string;
}

function importsOf(path: string, text: string): Import[] {
  const found: Import[] = [];
  const pattern = /(?:\bfrom\s*|\bimport\s*\(?\s*|\brequire\s*\(\s*)(["'])([^"']+)\1/g;
  const code = text.replace(/\/\*[\s\S]*?\*\//g, (comment) => comment.replace(/[^\n]/g, " "));
  for (const match of code.matchAll(pattern)) {
    const line = code.slice(0, match.index).split("\n").length;
    found.push({ from: path, line, specifier: match[2] as string });
  }
  return found;
}

const files = ["src", "server", "client"].flatMap((folder) => filesBelow(join(root, folder)));
const imports = files.flatMap((path) => importsOf(path, readFileSync(path, "utf8")));

function target(found: Import): string | null {
  return found.specifier.startsWith(".") ? resolve(dirname(found.from), found.specifier) : null;
}

function forbidden(found: Import): string | null {
  const room = roomOf(found.from);
  const where = `${relative(root, found.from)}:${found.line} imports ${found.specifier}`;
  if (room === null) {
    return found.from === join(root, "src/index.ts") ? null : `${where}, but lies in no room of the house`;
  }
  const to = target(found);
  if (to === null) {
    const node = found.specifier.startsWith("node:");
    return node && noNode.includes(room) ? `${where}: ${room} holds no node: import` : null;
  }
  // the version is written in one place only
  if (to === join(root, "package.json")) return null;
  const other = roomOf(to);
  if (other === null) return `${where}, which lies in no room of the house`;
  if (other === room) return null;
  if (room === "client" && !clientSees.includes(other))
    return `${where}: the client sees only ${clientSees.join(", ")}`;
  const here = floors[room] as number;
  const there = floors[other] as number;
  return there < here
    ? null
    : `${where}: floor ${here} may not reach ${there === here ? "a neighbour on" : "up to"} floor ${there}`;
}

/** The first import cycle found, as a list of files; null where there is none. */
function findCycle(graph: ReadonlyMap<string, readonly string[]>): string[] | null {
  const done = new Set<string>();
  const visit = (node: string, trail: string[]): string[] | null => {
    const at = trail.indexOf(node);
    if (at >= 0) return [...trail.slice(at), node];
    if (done.has(node)) return null;
    for (const next of graph.get(node) ?? []) {
      const cycle = visit(next, [...trail, node]);
      if (cycle) return cycle;
    }
    done.add(node);
    return null;
  };
  for (const node of graph.keys()) {
    const cycle = visit(node, []);
    if (cycle) return cycle;
  }
  return null;
}

test("the house has rooms with files in them", () => {
  const rooms = new Set(files.map(roomOf));
  for (const room of ["src/foundation", "src/numeric", "src/contract"]) expect(rooms).toContain(room);
});

test("every import stays in its room or goes to a floor below", () => {
  expect(imports.map(forbidden).filter((message) => message !== null)).toEqual([]);
});

test("no import cycle", () => {
  const graph = new Map(files.map((path) => [path, [] as string[]]));
  for (const found of imports) {
    const to = target(found);
    if (to !== null) graph.get(found.from)?.push(to);
  }
  expect(findCycle(graph)?.map((path) => relative(root, path)) ?? null).toBeNull();
});

test("the rule itself fails on what it must: up, sideways, node in a pure room, a cycle", () => {
  const at = (from: string, specifier: string): string | null =>
    forbidden({ from: join(root, from), line: 1, specifier });
  expect(at("src/numeric/a.ts", "../metrics/b.ts")).toMatch(/up to floor 2/);
  expect(at("src/metrics/a.ts", "../readers/b.ts")).toMatch(/neighbour/);
  expect(at("src/metrics/a.ts", "node:fs")).toMatch(/no node: import/);
  expect(at("client/a.ts", "../src/metrics/b.ts")).toMatch(/client sees only/);
  expect(at("src/readers/a.ts", "node:fs")).toBeNull();
  expect(at("src/metrics/a.ts", "../numeric/b.ts")).toBeNull();
  expect(
    importsOf("x", 'import { a } from "./a.ts";\nconst b = await import("./b.ts");').map((i) => i.specifier),
  ).toEqual(["./a.ts", "./b.ts"]);
  expect(
    findCycle(
      new Map([
        ["a", ["b"]],
        ["b", ["a"]],
      ]),
    ),
  ).toEqual(["a", "b", "a"]);
});

test("rooms export by name only and hold no barrel", () => {
  const wrong = files
    .filter((path) => /\bexport\s+default\b|\bexport\s+\*/.test(readFileSync(path, "utf8")))
    .map((path) => relative(root, path));
  expect(wrong).toEqual([]);
});
