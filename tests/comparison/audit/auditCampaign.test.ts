import { describe, expect, test } from "vitest";
import type { AuditCode } from "../../../src/catalogue/auditFindings.ts";
import type { Audit, AuditFinding } from "../../../src/contract/audit.ts";
import type { Campaign } from "../../../src/contract/campaign.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { checkEvaluation } from "../../../src/pipeline/writeEvaluation.ts";
import { describeWith } from "../../support/available.ts";
import type { inventedCampaign } from "../../support/inventedCampaign.ts";
import { runR, rVector } from "../../support/run.ts";
import { type AuditedRun, auditOf, declared, findingsOf, flownRuns, letters } from "./auditedRuns.ts";

type Changes = Parameters<typeof inventedCampaign>[1];

/** What the audit says of one kind: severity and message. */
function said(
  code: AuditCode,
  runs: readonly RunEvaluation[],
  changes: Changes = {},
  looks = 1,
): Pick<AuditFinding, "severity" | "message">[] {
  return findingsOf(auditOf(runs, changes, looks), code).map(({ severity, message }) => ({ severity, message }));
}

const careful = "ABBA BAAB";

test("a careful campaign has no finding at all", () => {
  const mass = { A: 4.6, B: 5.14, S: 5.14 };
  const order = "ABSSBA BSAASB";
  const flat = order.replace(" ", "");
  const packs = ["p1", "p1", "p2", "p2", "p3", "p3", "p1", "p1", "p2", "p2", "p3", "p3"];
  const runs = flownRuns(
    letters(order, (i) => ({
      also: {
        battery: packs[i]!,
        takeoff_mass: mass[flat[i] as "A"] + (i % 3 === 0 ? 0.004 : -0.002),
      },
    })),
  );
  const { findings } = auditOf(runs, { configurations: declared, sham: "ballast" });
  expect(findings).toEqual([]);
});

describe("blocks", () => {
  test("the table counts filed and used runs of every configuration", () => {
    const runs = flownRuns([
      ...letters("AB"),
      { configuration: "bare", block: "day1", value: 0.005, unusable: true },
      { configuration: "ballast", block: null, value: 0.005 },
      { configuration: "weighted", trajectory: "reach", block: "day2", value: 0.005 },
    ]);
    expect(auditOf(runs).blocks).toEqual([
      {
        trajectory: "orbit",
        block: "day1",
        configurations: { bare: { filed: 2, used: 1, heading: 0 }, weighted: { filed: 1, used: 1, heading: 0 } },
      },
      { trajectory: "orbit", block: null, configurations: { ballast: { filed: 1, used: 1, heading: 0 } } },
      { trajectory: "reach", block: "day2", configurations: { weighted: { filed: 1, used: 1, heading: 0 } } },
    ]);
  });

  test("one configuration a day: a doubt, no analysis can part them", () => {
    const found = said("separate-blocks", flownRuns(letters("AAA BBB")));
    expect(found).toMatchObject([{ severity: "doubt" }]);
    expect(found[0]!.message).toContain("no block of orbit holds both configurations: bare in day1, weighted in day2");
    expect(said("separate-blocks", flownRuns(letters("AAB BBA")))).toEqual([]);
  });

  test("one shared block beside others that hold one configuration: uneven, and a doubt", () => {
    const runs = flownRuns(letters("AABB AAA"));
    expect(said("uneven-blocks", runs)).toMatchObject([{ severity: "doubt" }]);
    expect(said("separate-blocks", runs)).toEqual([]);
  });

  test("twice as many of one as of the other within a block is a note, three v two is none", () => {
    const [uneven] = said("uneven-blocks", flownRuns(letters("AABA ABBA")));
    expect(uneven).toMatchObject({ severity: "note" });
    expect(uneven!.message).toContain("3 v 1 in day1");
    expect(said("uneven-blocks", flownRuns(letters("AABAB ABBA")))).toEqual([]);
    // a single block has its own finding, and nothing is taken within it
    expect(said("uneven-blocks", flownRuns(letters("AAAB")))).toEqual([]);
  });

  test("one block only, or none declared, is a note; two are none", () => {
    expect(said("one-block", flownRuns(letters("ABBA")))[0]!.message).toContain(
      "all runs of orbit are of one block (day1)",
    );
    const without = flownRuns(letters("ABBA", () => ({ block: null })));
    expect(said("one-block", without)[0]!.message).toContain("the runs of orbit have no block");
    expect(said("one-block", flownRuns(letters(careful)))).toEqual([]);
    // nothing is compared, so nothing is said
    expect(said("one-block", flownRuns(letters("AAAA")))).toEqual([]);
  });
});

describe("battery", () => {
  const on = (order: string, packs: string): RunEvaluation[] =>
    flownRuns(letters(order, (i) => ({ also: { battery: packs[i] === "-" ? null : `pack-${packs[i]}` } })));

  test("packs are counted over the used runs", () => {
    const { configurations } = auditOf(on("ABBA", "112-"));
    expect(configurations.bare).toMatchObject({ batteries: { "pack-1": 1 }, battery_unknown: 1 });
    expect(configurations.weighted).toMatchObject({ batteries: { "pack-1": 1, "pack-2": 1 }, battery_unknown: 0 });
  });

  test("no pack in common is a doubt where packs flew more than once, a note where every run had its own", () => {
    expect(said("battery-apart", on("ABBAAB", "122112"))).toMatchObject([
      { severity: "doubt", message: expect.stringContaining("bare on pack-1, weighted on pack-2") },
    ]);
    expect(said("battery-apart", on("ABBAAB", "123456"))).toMatchObject([{ severity: "note" }]);
    expect(said("battery-apart", on("ABBA BAAB", "12122121"))).toEqual([]);
    // where nobody says which pack was flown, nothing can be said
    expect(said("battery-apart", on("ABBAAB", "------"))).toEqual([]);
  });

  test("few runs that the other configuration can match on its packs: a note", () => {
    // A on 1 1 1 1 2, B on 3 3 3 3 2: one in five
    expect(said("battery-apart", on("ABABABABAB", "1313131322"))).toContainEqual(
      expect.objectContaining({ severity: "note", message: expect.stringContaining("mostly different battery packs") }),
    );
  });

  test("always second on a charge is a doubt; first as often as second is none", () => {
    expect(said("battery-apart", on("ABABAB", "112233"))).toContainEqual({
      severity: "doubt",
      message: expect.stringContaining("weighted came later on a charge than bare, by 1.0 flights"),
    });
    expect(said("battery-apart", on("ABBAABBA", "11223344"))).toEqual([]);
  });

  test("a sag that falls on one configuration is a doubt", () => {
    const sag = checkEvaluation({ code: "sag", severity: "doubt", message: "", evidence: {}, hint: "" });
    const sagging = (which: string): RunEvaluation[] =>
      flownRuns(letters("ABBAABBA", (i) => (which.includes(String(i)) ? { also: { checks: [sag] } } : {})));
    // runs 1, 2 and 5 are the candidate's
    const [found] = said("battery-apart", sagging("125"));
    expect(found!.message).toContain("0 of 4 used runs (0.0 %) with bare and in 3 of 4 used runs (75 %) with weighted");
    expect(auditOf(sagging("125")).configurations.weighted!.checks).toEqual({ sag: 3 });
    expect(said("battery-apart", sagging("0125"))).toEqual([]);
  });
});

describe("mass", () => {
  const weighed = (masses: readonly (number | null)[], order = careful): RunEvaluation[] =>
    flownRuns(letters(order, (i) => ({ also: { takeoff_mass: masses[i] ?? null } })));
  const [a, b] = [4.6, 5.14];
  const right = [a, b, b, a, b, a, a, b];

  test("what is declared and weighed alike gives no finding; sd, least and most are of the used runs", () => {
    const audit = auditOf(weighed([a, b, b, a, b, 4.61, 4.59, b]), { configurations: declared });
    expect(findingsOf(audit, "mass-apart")).toEqual([]);
    expect(findingsOf(audit, "mass-unknown")).toEqual([]);
    const { n, mean, sd, least, most } = audit.configurations.bare!.takeoff_mass;
    // 4.60, 4.60, 4.61, 4.59: mean 4.6, sd sqrt(2 * 0.01^2 / 3), by hand
    expect([n, least, most]).toEqual([4, 4.59, 4.61]);
    expect(mean).toBeCloseTo(4.6, 12);
    expect(sd).toBeCloseTo(Math.sqrt(0.0002 / 3), 12);
    expect(audit.configurations.weighted).toMatchObject({ added_mass: 0.54, counterweights_mass: 0.54 });
  });

  test("no masses, or no added mass, is a note that says which", () => {
    const [none] = said("mass-unknown", flownRuns(letters(careful)));
    expect(none!.message).toContain("`added_mass` of weighted and `takeoff_mass` of the runs with bare and weighted");
    const [some] = said("mass-unknown", weighed([null, b, b, null, b, null, null, b]), { configurations: declared });
    expect(some).toMatchObject({ severity: "note" });
    expect(some!.message).toMatch(/^not declared: `takeoff_mass` of the runs with Arm alone;/);
  });

  test("weighed 12 g off what is declared is a doubt, 8 g off is none", () => {
    const off = (grams: number): RunEvaluation[] =>
      weighed(right.map((mass) => (mass === b ? b + grams / 1000 : mass)));
    expect(said("mass-apart", off(12), { configurations: declared })).toMatchObject([
      {
        severity: "doubt",
        message: expect.stringContaining("Counterweights fitted weighed 552 g more than Arm alone"),
      },
    ]);
    expect(said("mass-apart", off(8), { configurations: declared })).toEqual([]);
    // the pair the other way round, and a bare vehicle that is declared to add nothing
    const bare = { ...declared.bare!, addedMass: 0 };
    const turned = { configurations: { ...declared, bare }, baseline: "weighted", candidate: "bare" };
    expect(said("mass-apart", off(0), turned)).toEqual([]);
    expect(said("mass-apart", off(12), turned)[0]!.message).toContain(
      "Arm alone weighed 552 g less than Counterweights fitted at take-off, by the mean of the used runs; declared is 540 g less",
    );
  });

  test("masses that scatter are given two standard errors", () => {
    // 4 v 4 with an sd of 23 g each (+-20 g about the mean, n - 1): standard error 16 g, so 30 g off is within 33 g
    const scattered = [a - 0.02, b + 0.01, b + 0.05, a + 0.02, b + 0.01, a - 0.02, a + 0.02, b + 0.05];
    expect(said("mass-apart", weighed(scattered), { configurations: declared })).toEqual([]);
    expect(
      said("mass-apart", weighed(scattered.map((mass, i) => (right[i] === b ? mass + 0.01 : mass))), {
        configurations: declared,
      }),
    ).toHaveLength(1);
  });

  test("a battery that was moved to balance the arm weighs more than what was added, and that is no doubt", () => {
    const { counterweights } = declared.weighted!;
    const saidWithout = (weights: typeof counterweights): unknown[] =>
      said("mass-apart", flownRuns(letters(careful)), {
        configurations: { ...declared, weighted: { ...declared.weighted!, addedMass: 0, counterweights: weights } },
      });
    expect(saidWithout(counterweights)).toMatchObject([{ severity: "doubt" }]);
    expect(saidWithout(counterweights.map((weight) => ({ ...weight, movedFrom: [0.05, 0, 0] as const })))).toEqual([]);
  });

  test("a ledger of the whole has to make up the mass, one of what moves must not exceed it", () => {
    const part = (mass: number, travel: number) =>
      ({ name: null, mass, at: null, travel: [travel, travel, 0], function: null }) as const;
    const vehicle = { mass: a, maxThrust: null, rotors: null, rotorDiameter: null };
    const saidOf = (parts: Campaign["parts"] & {}): unknown[] =>
      said("mass-apart", flownRuns(letters(careful)), { configurations: declared, vehicle, parts });
    // 4.6 kg: 1 % are 46 g
    expect(saidOf([part(a - 0.85, 0), part(0.85, 0.8)])).toEqual([]);
    expect(saidOf([part(a - 0.81, 0), part(0.85, 0.8)])).toEqual([]);
    expect(saidOf([part(a - 0.8, 0), part(0.85, 0.8)])).toMatchObject([
      { severity: "doubt", message: "the `parts` make 4650 g together, Arm alone weighs 4600 g at take-off (+1.1 %)" },
    ]);
    expect(saidOf([part(a - 0.9, 0), part(0.85, 0.8)])).toHaveLength(1);
    expect(saidOf([part(0.85, 0.8)])).toEqual([]);
    expect(saidOf([part(a + 0.05, 0.8)])).toHaveLength(1);
  });

  test("counterweights heavier than what was added are a doubt, lighter ones a note", () => {
    const adding = (addedMass: number): Changes => ({
      configurations: { ...declared, weighted: { ...declared.weighted!, addedMass } },
    });
    expect(said("mass-apart", flownRuns(letters(careful)), adding(0.5))).toMatchObject([{ severity: "doubt" }]);
    expect(said("mass-apart", flownRuns(letters(careful)), adding(0.6))).toMatchObject([{ severity: "note" }]);
    expect(said("mass-apart", flownRuns(letters(careful)), adding(0.545))).toEqual([]);
  });

  test("a sham of another mass is a doubt", () => {
    const configurations = { ...declared, ballast: { ...declared.ballast!, addedMass: 0.4 } };
    expect(said("mass-apart", flownRuns(letters(careful)), { configurations, sham: "ballast" })).toMatchObject([
      { severity: "doubt", message: expect.stringContaining("Same mass at the centre adds 400 g") },
    ]);
    expect(said("mass-apart", flownRuns(letters(careful)), { configurations: declared, sham: "ballast" })).toEqual([]);
  });

  test("a run that weighs like the other configuration is pointed at", () => {
    const masses = [...right];
    masses[3] = b;
    const found = findingsOf(auditOf(weighed(masses), { configurations: declared }), "mass-apart");
    expect(found.find(({ evidence }) => evidence.run === "run-4")).toMatchObject({
      severity: "doubt",
      message: expect.stringContaining(
        "run run-4 weighed 5140 g at take-off, the other runs with Arm alone 4600 g (median); Counterweights fitted weighs as much",
      ),
    });
    // 40 g is below one hundredth of 4.6 kg
    masses[3] = a + 0.04;
    expect(said("mass-apart", weighed(masses)).filter(({ message }) => message.startsWith("run "))).toEqual([]);
  });
});

describe("lost runs", () => {
  /** four of each used; more of them lost as said */
  const losing = (lost: readonly (Partial<AuditedRun> & { configuration: string })[]): RunEvaluation[] =>
    flownRuns([...letters(careful), ...lost.map((run) => ({ value: 0.005, block: "day1", ...run }))]);
  const lost = (configuration: string, count: number, how: Partial<AuditedRun> = { unusable: true }) =>
    Array.from({ length: count }, () => ({ configuration, ...how }));

  test("every run stands in one place: used, aborted, excluded by hand, unusable", () => {
    const runs = losing([
      ...lost("bare", 3),
      { configuration: "bare", exclude: "arm jammed", id: "x1" },
      { configuration: "bare", exclude: "arm jammed", unusable: true, id: "x2" },
      { configuration: "bare", outcome: "aborted", unusable: true },
      { configuration: "bare", outcome: "aborted", exclude: "crash", id: "x3", also: { put_back_because: "a word" } },
    ]);
    const { configurations } = auditOf(runs, { exclude: { x1: "arm jammed", x2: "arm jammed", x3: "crash" } });
    expect(configurations.bare!.runs).toEqual({
      filed: 11,
      used: 4,
      unusable: 3,
      excluded: 2,
      aborted: 2,
      put_back: 1,
    });
    expect(configurations.weighted!.runs).toMatchObject({ filed: 4, used: 4 });
  });

  test("left out on one side only is a doubt; a run on either side is none", () => {
    // 2 of 6 is a third, and none of 4
    const [found] = said("exclusions-apart", losing(lost("weighted", 2)));
    expect(found!.message).toBe(
      "0 of 4 runs with bare and 2 of 6 runs with weighted were left out: so few runs prove nothing by themselves (p 0.47, Fisher), but it falls on one configuration alone",
    );
    expect(said("exclusions-apart", losing([...lost("weighted", 2), ...lost("bare", 1)]))).toEqual([]);
    // 6 of 10 and 0 of 4: by hand (210 + 45)/3003 = 0.085
    expect(said("exclusions-apart", losing(lost("bare", 6)))[0]!.message).toContain("chance alone");
    expect(said("exclusions-apart", losing(lost("weighted", 1)))).toEqual([]);
  });

  test("aborts are counted apart from what was left out", () => {
    const runs = losing(lost("weighted", 2, { outcome: "aborted" }));
    expect(said("aborts-apart", runs)).toMatchObject([{ severity: "doubt" }]);
    expect(said("exclusions-apart", runs)).toEqual([]);
    expect(said("aborts-apart", losing(lost("weighted", 2)))).toEqual([]);
  });

  test("valid samples apart in mean and median are a doubt, by one bad run are none", () => {
    const valid = (of: (i: number) => number): RunEvaluation[] =>
      flownRuns(letters(careful, (i) => ({ also: { valid_fraction: { vehicle: 1, effector: of(i) } } })));
    const isCandidate = (i: number): boolean => "ABBABAAB"[i] === "B";
    const [found] = said(
      "valid-apart",
      valid((i) => (isCandidate(i) ? 0.95 + 0.01 * (i % 2) : 0.99)),
    );
    expect(found!.message).toContain("effector 99 % and 96 % on average");
    expect(
      said(
        "valid-apart",
        valid((i) => (i === 1 ? 0.9 : 1)),
      ),
    ).toEqual([]);
    // one run at 90 % among others at 99 %: mean 3 points off, median 1
    expect(
      said(
        "valid-apart",
        valid((i) => (i === 1 ? 0.9 : isCandidate(i) ? 0.99 : 1)),
      ),
    ).toEqual([]);
    expect(
      said(
        "valid-apart",
        valid((i) => (isCandidate(i) ? 0.985 : 1)),
      ),
    ).toEqual([]);
    expect(auditOf(valid((i) => (isCandidate(i) ? 0.9 : 1))).configurations.weighted!.valid_fraction).toEqual({
      vehicle: 1,
      effector: expect.closeTo(0.9, 12),
    });
  });
});

describe("looks and sham", () => {
  test("looking again is a note, from the fifth time on a doubt; once is neither", () => {
    const runs = flownRuns(letters(careful));
    expect(said("many-looks", runs)).toEqual([]);
    expect(said("many-looks", runs, {}, 2)).toMatchObject([{ severity: "note" }]);
    expect(said("many-looks", runs, {}, 5)).toMatchObject([{ severity: "doubt" }]);
  });

  test("added mass without a sham, or with one that was not flown, is a note", () => {
    const runs = flownRuns(letters(careful));
    expect(said("sham-missing", runs, { configurations: declared })[0]!.message).toContain(
      "Counterweights fitted adds 540 g, and no configuration with the same mass",
    );
    expect(said("sham-missing", runs, { configurations: declared, sham: "ballast" })[0]!.message).toContain(
      "no run with Same mass at the centre could be used",
    );
    expect(said("sham-missing", flownRuns(letters("ABSSBA")), { configurations: declared, sham: "ballast" })).toEqual(
      [],
    );
    // nothing is said to be added
    expect(said("sham-missing", runs)).toEqual([]);
    // the pair the other way round: the heavier one is named all the same
    expect(
      said("sham-missing", runs, { configurations: declared, baseline: "weighted", candidate: "bare" })[0]!.message,
    ).toContain("Counterweights fitted adds 540 g");
  });

  test("without a sham there is no contrast", () => {
    expect(auditOf(flownRuns(letters("ABSSBA"))).sham).toEqual([]);
  });

  test("too few runs for an error leave the difference of the means", () => {
    const runs = flownRuns(letters("ABBAS", (i) => ({ value: 0.001 * (i + 1) })));
    const [place] = auditOf(runs, { sham: "ballast" }).sham;
    // A 1 and 4, B 2 and 3, S 5 mm
    expect(place).toMatchObject({
      runs: ["run-5"],
      balancing: { runs: [1, 2], se: null, df: null, ci95: null, p: null },
    });
    expect(place!.balancing.difference).toBeCloseTo(-0.0025, 12);
    expect(place!.mass.difference).toBeCloseTo(0.0025, 12);
  });
});

describeWith(["r"], "the sham against R", () => {
  const value = (i: number): number => 0.006 + 0.0008 * Math.sin(3.1 * i + 0.4) + 0.0002 * Math.cos(i * i);
  const contrasts = (order: string): Audit["sham"][number] =>
    auditOf(flownRuns(letters(order, (i) => ({ value: value(i) }))), { sham: "ballast" }).sham[0]!;
  const figures = ({ difference, se, df, ci95, p }: Audit["sham"][number]["mass"]): number[] => [
    difference!,
    se!,
    df!,
    ...ci95!,
    p!,
  ];
  const data = (order: string): string => {
    const flat = order.replaceAll(" ", "");
    const block = order.split(" ").flatMap((letters, b) => [...letters].map(() => b + 1));
    return `v <- ${rVector([...flat].map((_, i) => value(i)))}
      s <- strsplit("${flat}", "")[[1]]; block <- factor(c(${block.join(",")}))`;
  };
  const alike = (found: readonly number[], expected: readonly number[]): void => {
    expect(found).toHaveLength(expected.length);
    for (const [i, own] of found.entries())
      expect(Math.abs(own - expected[i]!), `figure ${i}`).toBeLessThan(1e-9 * Math.max(1e-3, Math.abs(expected[i]!)));
  };

  test("in one block: t.test of the two configurations", () => {
    const order = "ABSSBAABS";
    const { balancing, mass } = contrasts(order);
    const expected = runR(`${data(order)}
      show <- function(a, b) { w <- t.test(v[s == a], v[s == b])
        cat(format(c(w$estimate[1] - w$estimate[2], w$stderr, w$parameter, w$conf.int, w$p.value), digits = 17), sep = "\\n"); cat("\\n") }
      show("B", "S"); show("S", "A")`);
    alike([...figures(balancing), ...figures(mass)], expected);
    expect([balancing.runs, mass.runs]).toEqual([
      [3, 3],
      [3, 3],
    ]);
  });

  test("in blocks that hold as many of both: lm(value ~ block + configuration), the third left out", () => {
    const order = "ABSSBA BSAASB ABS";
    const { balancing, mass } = contrasts(order);
    const expected = runR(`${data(order)}
      show <- function(a, b) { k <- s %in% c(a, b); x <- as.numeric(s[k] == a); f <- lm(v[k] ~ block[k] + x)
        r <- summary(f)$coefficients["x", ]
        cat(format(c(r[1], r[2], f$df.residual, confint(f, "x"), r[4]), digits = 17), sep = "\\n"); cat("\\n") }
      show("B", "S"); show("S", "A")`);
    alike([...figures(balancing), ...figures(mass)], expected);
  });
});

test("a sham of its own blocks is compared over all runs", () => {
  const runs = flownRuns(letters("ABBA BAAB SSS", (i) => ({ value: 0.005 + 0.0003 * (i % 4) })));
  const { mass } = auditOf(runs, { sham: "ballast" }).sham[0]!;
  // above 5 mm in steps of 0.3 mm: A 0, 3, 1, 2 with mean 1.5; S 0, 1, 2 with mean 1
  expect(mass.difference).toBeCloseTo(-0.00015, 12);
  expect(mass.runs).toEqual([4, 3]);
});

test("no run, one run, or one configuration: an audit without numbers that are none", () => {
  for (const runs of [
    [],
    flownRuns(letters("A")),
    flownRuns(letters("AAA")),
    flownRuns([{ configuration: "bare", value: 0.005, unusable: true }]),
  ]) {
    const audit = auditOf(runs, { configurations: declared, sham: "ballast" });
    expect(JSON.stringify(audit)).not.toMatch(/NaN|Infinity/);
    for (const { later, drift } of audit.order) expect([later, drift]).toEqual([null, []]);
  }
});
