import fc from "fast-check";
import { expect, test } from "vitest";
import { example, refusal } from "./support.ts";

/** Keys of the example that occur once in it as a key, each on a line of its own or in braces. */
const keys = [
  "title",
  "baseline",
  "candidate",
  "sham",
  "smallest_difference",
  "primary",
  "configurations",
  "vehicle",
  "frames",
  "signals",
  "clocks",
  "trajectories",
  "static_captures",
  "runs",
  "max_thrust",
  "rotors",
  "rotor_diameter",
  "world",
  "onboard",
  "tool_point",
  "body_point",
  "arm_base",
  "vehicle_pose",
  "vehicle_rate",
  "same_motion",
  "search",
  "radius",
  "speed",
  "stroke",
  "duration",
  "exclude",
] as const;
/** The keys of the example that a section holds vanish from sight where the section's own key is misspelled. */
const insideOf: Readonly<Record<string, readonly string[]>> = {
  vehicle: ["max_thrust", "rotors", "rotor_diameter"],
  frames: ["world", "onboard", "tool_point", "body_point", "arm_base"],
  signals: ["vehicle_pose", "vehicle_rate"],
  clocks: ["same_motion", "search"],
  trajectories: ["radius", "speed", "stroke", "duration"],
  runs: ["exclude"],
};

interface Slip {
  readonly key: string;
  readonly kind: "drop" | "double" | "replace";
  readonly at: number;
}

/** The key with one letter wrong; never a key that exists: those hold no q or z in that place. */
function misspell({ key, kind, at }: Slip): string {
  const index = at % key.length;
  const letter = key[index]!;
  if (kind === "drop") return key.slice(0, index) + key.slice(index + 1);
  if (kind === "double") return key.slice(0, index) + letter + key.slice(index);
  return key.slice(0, index) + (letter === "q" ? "z" : "q") + key.slice(index + 1);
}

const slip = fc.record({
  key: fc.constantFrom(...keys),
  kind: fc.constantFrom("drop" as const, "double" as const, "replace" as const),
  at: fc.nat(30),
});

test("any set of keys misspelled by one letter is answered by the key that was meant, each once", async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.uniqueArray(slip, { selector: ({ key }) => key, minLength: 1, maxLength: 8 }),
      async (slips) => {
        let text = example;
        for (const one of slips) {
          const pattern = new RegExp(`(^|[{ ,])${one.key}(?=\\s*:)`, "m");
          expect(text).toMatch(pattern);
          text = text.replace(pattern, (_, before: string) => before + misspell(one));
        }
        const hidden = new Set(slips.flatMap(({ key }) => insideOf[key] ?? []));
        const { problems } = await refusal(text);
        for (const one of slips) {
          if (hidden.has(one.key)) continue;
          const told = problems.filter(({ message }) => message.includes(`unknown key "${misspell(one)}"`));
          expect(told.map(({ hint }) => hint)).toEqual([`did you mean ${one.key}?`]);
        }
        // a key that is misspelled is not said to be missing, too
        expect(problems.filter(({ message }) => /^\w+: found nothing/.test(message))).toEqual([]);
      },
    ),
    { seed: 3, numRuns: 300 },
  );
});
