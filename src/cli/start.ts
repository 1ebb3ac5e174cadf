#!/usr/bin/env node
/** The Node versions that the program runs on, as package.json's `engines` has them (a test compares): ^20.19 || >=22.12. */
const { node } = process.versions;
const [major = 0, minor = 0] = node.split(".").map(Number);
const runs = major === 20 ? minor >= 19 : major === 22 ? minor >= 12 : major > 22;

// Nothing is imported before the version was looked at: an old Node would stop at syntax that it does not know.
if (runs) import("./main.ts");
else {
  process.stderr.write(
    `counterpoise needs Node 20.19 or a later 20, or 22.12 or newer, and this is Node ${node}: see https://nodejs.org\n`,
  );
  process.exitCode = 2;
}
