import { type CheckCode, checkCodes } from "../../../src/foundation/checks.ts";
import type { FalseAlarms, Found } from "./countFound.ts";
import { notCounted, sizedFaults } from "./sizedFaults.ts";

/** The manual's page of what was counted. @param counts  by fault, then by size, in the order of the table */
export function detectionPage(counts: readonly (readonly Found[])[], alarms: FalseAlarms, date: string): string {
  const share = (count: number, of: number): string => `${count} of ${of}`;
  const falseOf = (code: CheckCode): string => share(alarms.byCode.get(code) ?? 0, alarms.runs);
  const found = sizedFaults.flatMap(({ check, fault, sizes }, i) =>
    sizes.map(({ size }, j) => {
      const { runs, byIt, byAny } = counts[i]![j]!;
      return `| \`${check}\` | ${fault} | ${size} | ${share(byIt, runs)} | ${share(byAny, runs)} | ${falseOf(check)} |`;
    }),
  );
  const certain = checkCodes.flatMap((code) =>
    notCounted[code] === undefined ? [] : [`| \`${code}\` | ${notCounted[code]} | ${falseOf(code)} |`],
  );
  return `# How well faults are found

Counted on ${date} by the project's slow tests, on simulated flights whose faults are known: hovering hexacopter, arm on a circle of 60 mm
at 0.25 m/s, six cycles after a hold of 15 s, moderate air, capture at 100 Hz with 0.2 mm of noise, a gyro in every log. Found: the check stands
as a doubt or makes the run unusable, in so many of the runs that carry the fault; "by any" counts the runs in which any check does.

False alarms: runs of ${alarms.runs / 6} simulated labs in which nothing is wrong (other rates, noise, clocks, frames, headings, trajectories; six runs
each) on which the check stands as a doubt or more.

Your flights are not these: in calmer air a clock is harder to find, with a noisier capture a shift is. Take the sizes as an order of magnitude.

| check | fault | size | found | by any | false alarms |
|---|---|---|---|---|---|
${found.join("\n")}

These checks have no share counted here: what they say stands in the log or the manifest, or is about what moves and not about an error.

| check | what it does | false alarms |
|---|---|---|
${certain.join("\n")}
`;
}
