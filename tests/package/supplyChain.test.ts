import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import lock from "../../package-lock.json" with { type: "json" };
import { describeWith } from "../support/available.ts";

const root = resolve(import.meta.dirname, "../..");
const folder = mkdtempSync(join(tmpdir(), "counterpoise-supply-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Locked {
  readonly version: string;
  readonly integrity?: string;
  readonly license?: string;
  readonly dev?: boolean;
  readonly hasInstallScript?: boolean;
}
const packages = Object.entries(lock.packages as Record<string, Locked>)
  .filter(([place]) => place !== "")
  .map(([place, locked]) => ({ name: place.slice(place.lastIndexOf("node_modules/") + 13), ...locked }));

function run(program: string, args: readonly string[], cwd = folder): string {
  const { status, stdout, stderr } = spawnSync(program, args, { encoding: "utf8", cwd });
  if (status !== 0) throw new Error(`${program} ${args.join(" ")} ended with ${status}:\n${stdout}${stderr}`);
  return stdout;
}

describe("the packages that the lock file pins", () => {
  test("none runs a script when it is installed, and each has its sum", () => {
    const scripted = packages.filter(({ hasInstallScript }) => hasInstallScript).map(({ name }) => name);
    // its script is for macOS alone, an optional part of the builder that no Linux or Windows machine installs
    expect(scripted.filter((name) => name !== "fsevents")).toEqual([]);
    const unsummed = packages.filter(({ integrity }) => !/^sha512-/.test(integrity ?? "")).map(({ name }) => name);
    expect(unsummed).toEqual([]);
  });

  test("those in the program may be handed on", () => {
    const kept = packages.filter(({ dev }) => !dev);
    expect(kept.length).toBeGreaterThan(100);
    const free =
      /^\(?(MIT|ISC|Apache-2\.0|BSD-2-Clause|BSD-3-Clause|0BSD|BlueOak-1\.0\.0|Unlicense)( (AND|OR) .*)?\)?$/;
    const other = kept.filter(({ license }) => !free.test(license ?? "")).map(({ name, license }) => [name, license]);
    expect(other).toEqual([]);
  });

  test("the list of parts (CycloneDX) holds each package of the program with the lock file's sum, and the same bytes each time", () => {
    const write = (): string => {
      run(process.execPath, [join(root, "tools/sbom.mjs"), folder]);
      return readFileSync(join(folder, "sbom.json"), "utf8");
    };
    const text = write();
    expect(write()).toBe(text);
    const { bomFormat, components, metadata } = JSON.parse(text);
    expect([bomFormat, metadata.component.name]).toEqual(["CycloneDX", "counterpoise"]);
    const sums = (components as { name: string; version: string; hashes: { content: string }[] }[]).map(
      ({ name, version, hashes }) => `${name}@${version} ${hashes[0]!.content}`,
    );
    const expected = packages
      .filter(({ dev }) => !dev)
      .map(
        ({ name, version, integrity }) =>
          `${name}@${version} ${Buffer.from(integrity!.slice("sha512-".length), "base64").toString("hex")}`,
      );
    expect([...new Set(sums)].sort()).toEqual([...new Set(expected)].sort());
  });
});

describeWith(["namespaces"], "without any network interface", () => {
  test("the main job is done: the sample is evaluated", () => {
    cpSync(join(root, "sample-data"), join(folder, "sample"), { recursive: true });
    const evaluate = [process.execPath, join(root, "dist/counterpoise.mjs"), "evaluate", "sample/campaign.yaml"];
    // a namespace of its own holds the loopback interface alone, and that is down
    const seen = run("unshare", ["-rn", ...evaluate]);
    expect(seen).toMatch(/steadier/);
  });
});

describeWith(["slow"], "the versions of Node that the package names", () => {
  test.each(["20.19.0", "22.12.0", "24", "latest"])("%s builds and runs it", (version) => {
    // npm's package of that name carries Node itself
    const node = (...args: string[]): string =>
      run("npx", ["--yes", `--package=node@${version}`, "node", ...args], root);
    node(join(root, "tools/build.mjs"), join(folder, `built-${version}`));
    expect(node(join(folder, `built-${version}/counterpoise.mjs`), "check", "sample-data/campaign.yaml")).toMatch(
      /18 of 20 runs can be used/,
    );
  });
});
