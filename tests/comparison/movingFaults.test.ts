import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { expect, test } from "vitest";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { describeWith } from "../support/available.ts";
import { alone, type Fault, judged, movingRun, type SeenFlight, seenFlights } from "../support/movingFlights.ts";

const page = resolve(import.meta.dirname, "../../client/manual/methods.md");
const loops = [0.5, 0.7, 0.9] as const;
const rates = [0.3, 0.45, 0.6, 0.8, 1] as const;

/** The attitude 20 ms late against the position: two samples. */
const late: Fault = (motion) => {
  const before = (column: Float64Array): Float64Array => column.map((_, i) => column[Math.max(0, i - 2)]!);
  return { ...motion, qx: before(motion.qx), qy: before(motion.qy), qz: before(motion.qz), qw: before(motion.qw) };
};
/** What is taken for the centre of mass lies 100 mm above it, in body axes. */
const raised: Fault = (motion) => {
  const { qx, qy, qz, qw } = motion;
  return {
    ...motion,
    x: motion.x.map((x, i) => x + 0.2 * (qx[i]! * qz[i]! + qw[i]! * qy[i]!)),
    y: motion.y.map((y, i) => y + 0.2 * (qy[i]! * qz[i]! - qw[i]! * qx[i]!)),
  };
};

interface Outcome {
  /** mean of the baseline's apparent moving mass over its truth, less 1 */
  readonly off: number;
  readonly found: number;
}

function outcome(flights: readonly (readonly SeenFlight[])[], fault: Fault): Outcome {
  let [sum, count, found] = [0, 0, 0];
  for (const campaign of flights) {
    const effects = judged(campaign.map((flight) => movingRun(flight, fault)));
    for (const { configurations } of effects) {
      sum += configurations.bare!.mean / alone - 1;
      count++;
    }
    const codes = effects.flatMap(({ configurations }) =>
      Object.values(configurations).flatMap(({ checks }) => checks.map(({ code }) => code)),
    );
    if (codes.includes("moment-phase")) found++;
  }
  return { off: sum / count, found };
}

function row(loop: number, rate: number, campaigns: number): { late: Outcome; raised: Outcome } {
  const { vehicle } = flightSettings();
  const radius = 0.06;
  const changes: FlightChanges = {
    vehicle: { ...vehicle, horizontalLoop: { frequency: loop, damping: 0.65, integral: 0 } },
    trajectory: { shape: "circle", plane: "xy", radius, speed: 2 * Math.PI * radius * rate, cycles: 8, rampIn: 0 },
  };
  const random = seededRandom(Math.round(1000 * loop + 100 * rate));
  const flights = Array.from({ length: campaigns }, () => seenFlights(random, changes));
  return { late: outcome(flights, late), raised: outcome(flights, raised) };
}

/** One row of the manual's table. */
function written(loop: number, rate: number, { late: one, raised: other }: ReturnType<typeof row>, of: number): string {
  const percent = ({ off }: Outcome): string => {
    const rounded = Math.round(100 * off);
    return rounded === 0 ? "0 %" : `${rounded > 0 ? "+" : ""}${rounded} %`;
  };
  return `| ${loop} Hz | ${rate} Hz | ${percent(one)} | ${one.found} of ${of} | ${percent(other)} | ${other.found} of ${of} |`;
}

/** What the manual's table says of a loop and rate. */
function said(loop: number, rate: number): { late: Outcome; raised: Outcome } {
  const line = readFileSync(page, "utf8").match(new RegExp(`^\\| ${loop} Hz \\| ${rate} Hz \\|.*$`, "m"))![0];
  const [, , , off, found, otherOff, otherFound] = line.split("|").map((cell) => Number.parseFloat(cell));
  return {
    late: { off: off! / 100, found: found! / 40 },
    raised: { off: otherOff! / 100, found: otherFound! / 40 },
  };
}

// what is found in nearly all of the manual's 40 campaigns is found in these, and hardly what is found in none; the mean over six
// campaigns and two axes is known to 3 % of itself or less from 0.6 Hz on (the standard error over campaigns), 4 % is allowed
test.each([
  [0.5, 0.8],
  [0.9, 0.8],
] as const)("the manual says what a late attitude and a wrong height do: loop %s Hz, rate %s Hz", (loop, rate) => {
  const [seen, stated] = [row(loop, rate, 6), said(loop, rate)];
  for (const fault of ["late", "raised"] as const) {
    expect(Math.abs(seen[fault].off - stated[fault].off), fault).toBeLessThan(0.04);
    if (stated[fault].found > 0.95) expect(seen[fault].found, fault).toBeGreaterThanOrEqual(5);
    if (stated[fault].found < 0.05) expect(seen[fault].found, fault).toBeLessThanOrEqual(1);
  }
});

describeWith(["slow"], "every row of the manual's table, of 40 campaigns", () => {
  test("the table is written", { timeout: 7_200_000 }, () => {
    let text = readFileSync(page, "utf8");
    for (const loop of loops)
      for (const rate of rates) {
        const found = row(loop, rate, 40);
        const place = new RegExp(`^\\| ${loop} Hz \\| ${rate} Hz \\|.*$`, "m");
        expect(text, `${loop} Hz, ${rate} Hz`).toMatch(place);
        text = text.replace(place, written(loop, rate, found, 40));
        // a late attitude that matters by more than a tenth is found where the cycles are faster than a tight loop allows
        if (loop === 0.9 && rate >= 0.8) expect(found.late.found, `${loop} Hz, ${rate} Hz`).toBeGreaterThanOrEqual(36);
        if (rate >= 0.8) expect(found.raised.found, `${loop} Hz, ${rate} Hz`).toBeGreaterThanOrEqual(36);
      }
    writeFileSync(page, text);
  });
});
