#!/usr/bin/env node
/** The oldest Node that the program runs on; package.json's `engines` says the same (a test compares). */
const least = 20;
const { node } = process.versions;

// Nothing is imported before the version was looked at: an old Node would stop at syntax that it does not know.
if (Number.parseInt(node, 10) < least) {
  process.stderr.write(`counterpoise needs Node ${least} or newer, and this is Node ${node}: see https://nodejs.org\n`);
  process.exitCode = 2;
} else import("./main.ts");
