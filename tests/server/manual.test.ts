import { execFileSync } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import type { AddressInfo } from "node:net";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import express from "express";
import { afterAll, beforeAll, expect, test } from "vitest";
import { clientFiles } from "../../server/createApp.ts";

const root = resolve(import.meta.dirname, "../..");
let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "counterpoise-manual-"));
  execFileSync(process.execPath, [join(root, "tools/buildManual.mjs"), join(folder, "manual")]);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test("every page of the manual is built, without script or style in it, and its links lead somewhere", () => {
  const pages = readdirSync(join(root, "client/manual")).filter((name) => name.endsWith(".md"));
  for (const name of pages) {
    const html = readFileSync(join(folder, "manual", name.replace(/\.md$/, ".html")), "utf8");
    expect(html, name).not.toMatch(/<script|<style|\sstyle=|\son[a-z]+=/);
    expect(html.match(/<h1/g), name).toHaveLength(1);
    for (const [, to, anchor] of html.matchAll(/href="([^"#]*)(#[^"]*)?"/g)) {
      if (to === "../" || to === "../mark.svg") continue;
      const file = to === "" ? name.replace(/\.md$/, ".html") : to!;
      expect(existsSync(join(folder, "manual", file)), `${name}: ${to}`).toBe(true);
      if (anchor !== undefined)
        expect(readFileSync(join(folder, "manual", file), "utf8"), `${name}: ${anchor}`).toContain(
          `id="${anchor.slice(1)}"`,
        );
    }
  }
});

test("the dashboard serves it at /manual", async () => {
  const server = express().use(clientFiles(folder)).listen(0, "127.0.0.1");
  await once(server, "listening");
  try {
    const { port } = server.address() as AddressInfo;
    const answer = await fetch(`http://127.0.0.1:${port}/manual`);
    expect(answer.url).toBe(`http://127.0.0.1:${port}/manual/`);
    expect(answer.headers.get("content-type")).toMatch(/^text\/html/);
    expect(await answer.text()).toContain("the manual");
  } finally {
    server.close();
  }
});
