import { expect, test } from "vitest";
import packageFile from "../../package.json" with { type: "json" };
import type { Command, CommandInput } from "../../src/cli/Command.ts";
import { commands } from "../../src/cli/commandList.ts";
import { runCli } from "../../src/cli/runCli.ts";
import { CounterpoiseError, LogError, ManifestError } from "../../src/foundation/errors.ts";
import { capturedTerminal } from "./captured.ts";

/** The real commands' names and options, with a body that a test chooses. */
function withBody(body: (input: CommandInput) => number | Promise<number>): readonly Command[] {
  return commands.map((command) => ({ ...command, load: async () => async (input) => body(input) }));
}

async function run(argv: string[], options: { commands?: readonly Command[]; debug?: boolean } = {}) {
  const terminal = capturedTerminal({ debug: options.debug ?? false });
  const code = await runCli(argv, terminal, options.commands ? { commands: options.commands } : {});
  return { code, stdout: terminal.stdout(), stderr: terminal.stderr() };
}
const failing = (error: unknown): readonly Command[] =>
  withBody(() => {
    throw error;
  });

test("--version prints the package's version, that this is no build, and nothing else", async () => {
  const stdout = `counterpoise ${packageFile.version} (run from the sources, not built)\n`;
  expect(await run(["--version"])).toEqual({ code: 0, stdout, stderr: "" });
});

test("--help names every command, and says that no vehicle is declared safe", async () => {
  for (const argv of [["--help"], ["-h"], ["help"]]) {
    const { code, stdout, stderr } = await run(argv);
    expect(code).toBe(0);
    expect(stderr).toBe("");
    for (const { name } of commands) expect(stdout).toContain(`counterpoise ${name} `);
    expect(stdout).toContain("never says that a vehicle is safe to fly");
  }
});

test("help of a command names each of its options, however it is asked for", async () => {
  for (const { name, options } of commands) {
    const asked = [
      ["help", name],
      [name, "--help"],
      [name, "-h"],
      [name, "some.yaml", "--help"],
    ];
    const texts = await Promise.all(asked.map((argv) => run(argv)));
    expect(new Set(texts.map(({ stdout }) => stdout)).size).toBe(1);
    for (const option of Object.keys(options)) expect(texts[0]!.stdout).toContain(`--${option}`);
    expect(texts.map(({ code }) => code)).toEqual([0, 0, 0, 0]);
  }
});

test("help needs no more than 80 columns, and leaves a gap between an option and what it does", async () => {
  for (const argv of [["--help"], ...commands.map(({ name }) => ["help", name])])
    for (const line of (await run(argv)).stdout.split("\n")) {
      expect(line.length, line).toBeLessThanOrEqual(80);
      // the value of an option stands in capitals
      if (line.startsWith("  --")) expect(line).toMatch(/^ {2}--[a-z-]+(?:, -h)?(?: [A-Z.,/]+)?(?: {2,}\S.*)?$/);
    }
});

test.each([
  [[], "found no command, expected one of check, evaluate, bench, plan, serve, inspect"],
  [["evalute", "campaign.yaml"], "did you mean evaluate?"],
  [["serf", "campaign.yaml"], "did you mean serve?"],
  [["weigh", "campaign.yaml"], "found the unknown command weigh"],
  [["--vershun"], "did you mean --version?"],
  [["evaluate"], "found nothing, expected one MANIFEST"],
  [["evaluate", ""], "found nothing, expected one MANIFEST"],
  [["inspect"], "found nothing, expected one LOG"],
  [["evaluate", "a.yaml", "b.yaml"], "found a.yaml, b.yaml, expected one MANIFEST"],
  [["evaluate", "a.yaml", "--jsn"], "did you mean --json?"],
  [["evaluate", "a.yaml", "--stict"], "did you mean --strict?"],
  [["evaluate", "a.yaml", "-o", "x"], "found the unknown option -o"],
  [["inspect", "a.bag", "--strict"], "found the unknown option --strict"],
  [["evaluate", "a.yaml", "--json=yes"], "found --json=yes, expected --json alone"],
  [["evaluate", "a.yaml", "--out"], "found --out without a value, expected --out FILE"],
  [["evaluate", "a.yaml", "--out", "--json"], "found --out without a value before --json"],
  [["evaluate", "a.yaml", "--out="], "found --out without a value"],
  [["evaluate", "a.yaml", "--out", "a", "--out", "b"], "found --out twice, expected it once"],
  [["--version", "now"], "found now after --version, expected nothing"],
  [["help", "evaluate", "twice"], "found twice after help evaluate, expected nothing"],
  [["help", "inspekt"], "did you mean inspect?"],
  [["evaluate", "a.yaml", "--__proto__"], "found the unknown option --__proto__"],
])("the arguments %j are refused with code 2 on standard error", async (argv, words) => {
  const { code, stdout, stderr } = await run(argv, { commands: withBody(() => 0) });
  expect(code).toBe(2);
  expect(stdout).toBe("");
  expect(stderr).toContain(words);
  expect(stderr).not.toMatch(/^ +at /m);
});

test("options, values and the operand reach the command, also behind --", async () => {
  const seen: CommandInput[] = [];
  const known = withBody((input) => seen.push(input) - seen.length);
  await run(["evaluate", "--strict", "a.yaml", "--out=-", "--json"], { commands: known });
  await run(["evaluate", "--out", "-", "--", "--help"], { commands: known });
  expect(seen.map(({ operands }) => operands)).toEqual([["a.yaml"], ["--help"]]);
  expect([...seen[0]!.flags].sort()).toEqual(["json", "strict"]);
  expect(seen.map(({ values }) => values.get("out"))).toEqual(["-", "-"]);
});

test("only the command asked for is imported", async () => {
  const loaded: string[] = [];
  const spied = commands.map((command) => ({
    ...command,
    load: async () => {
      loaded.push(command.name);
      return async () => 0;
    },
  }));
  await run(["--help"], { commands: spied });
  await run(["help", "evaluate"], { commands: spied });
  expect(loaded).toEqual([]);
  await run(["inspect", "a.bag"], { commands: spied });
  expect(loaded).toEqual(["inspect"]);
});

test("a fault of the manifest gives code 2 with message, place and hint", async () => {
  const error = new ManifestError("manifest-missing", "found no such file, expected a manifest", {
    place: "campaign.yaml",
    hint: "check the path",
  });
  expect(await run(["evaluate", "campaign.yaml"], { commands: failing(error) })).toEqual({
    code: 2,
    stdout: "",
    stderr: "counterpoise: found no such file, expected a manifest\n  place: campaign.yaml\n  hint: check the path\n",
  });
});

test("the problems of a manifest, which bring their places along, are not told twice", async () => {
  const error = new ManifestError("manifest-invalid", "a.yaml:3:1: wrong (hint: mend it)\na.yaml:4:1: wrong too", {
    place: "a.yaml:3:1",
    hint: "mend it",
  });
  const { stderr } = await run(["evaluate", "a.yaml"], { commands: failing(error) });
  expect(stderr).toBe("counterpoise: a.yaml:3:1: wrong (hint: mend it)\n  a.yaml:4:1: wrong too\n");
});

test("a log that cannot be inspected, and a disk that refuses, give code 2", async () => {
  const log = new LogError("log-unreadable", "found an empty file", { place: "a.bag" });
  const disk = new CounterpoiseError("not-written", "the evaluation cannot be written: disk full", {
    place: "out.json",
  });
  expect((await run(["inspect", "a.bag"], { commands: failing(log) })).code).toBe(2);
  expect((await run(["evaluate", "a.yaml"], { commands: failing(disk) })).code).toBe(2);
});

test("a fault of the tool gives code 3, asks for a report, and shows its stack only where debugging is on", async () => {
  const known = failing(new TypeError("x is not a function\nsecond line"));
  const usual = await run(["evaluate", "a.yaml"], { commands: known });
  expect(usual).toMatchObject({ code: 3, stdout: "" });
  expect(usual.stderr).toMatch(
    /^counterpoise: a fault of the tool: TypeError: x is not a function\n {2}please report it/,
  );
  expect(usual.stderr).not.toMatch(/^ +at /m);
  const debugging = await run(["evaluate", "a.yaml"], { commands: known, debug: true });
  expect(debugging.code).toBe(3);
  expect(debugging.stderr).toMatch(/^ +at /m);
  expect((await run(["evaluate", "a.yaml"], { commands: failing("a bare string") })).code).toBe(3);
});

test("control characters in a message do not reach the terminal", async () => {
  const esc = String.fromCharCode(27);
  const error = new ManifestError("manifest-invalid", `found ${esc}[2J`, { hint: `not ${esc}]0;x` });
  expect((await run(["evaluate", "a"], { commands: failing(error) })).stderr).not.toContain(esc);
});
