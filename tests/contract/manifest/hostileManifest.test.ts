import { describe, expect, test } from "vitest";
import { changed, example, placeOf, refusal } from "./support.ts";

/** Milliseconds that reading took: limits leave a busy machine ten times what is needed; what they are to notice takes minutes, or for ever. */
async function timed(text: string): Promise<{ milliseconds: number; error: Awaited<ReturnType<typeof refusal>> }> {
  const start = performance.now();
  const error = await refusal(text);
  return { milliseconds: performance.now() - start, error };
}

test("a text of 100 MB is refused by its size", async () => {
  const text = `title: ${"x".repeat(100_000_000)}`;
  const { milliseconds, error } = await timed(text);
  expect(error.code).toBe("manifest-too-large");
  expect(error.message).toMatch(/found 100000007 characters, expected at most 4000000/);
  expect(milliseconds).toBeLessThan(5000);
});

test("aliases that multiply are refused by what they would expand to, quickly and with their place", async () => {
  // nine to the power of sixty values
  const levels = Array.from(
    { length: 60 },
    (_, level) =>
      `a${level}: &a${level} [${Array(9)
        .fill(level === 0 ? "x" : `*a${level - 1}`)
        .join(",")}]`,
  );
  const { milliseconds, error } = await timed(levels.join("\n"));
  expect(error.code).toBe("yaml-alias");
  // 1 + 9 + ... + 9^7 > 1 000 000: the seventh line
  expect(error.problems[0]).toMatchObject({
    place: "campaign.yaml:7:9",
    message: expect.stringMatching(/expand to more than 1000000 values/),
  });
  expect(milliseconds).toBeLessThan(10_000);
});

test("an alias inside the value that it stands for is refused", async () => {
  const text = changed(["static_captures: [static.bag]", "static_captures: &s [*s]"]);
  const error = await refusal(text);
  expect(error.code).toBe("yaml-alias");
  expect(error.problems[0]).toMatchObject({
    place: placeOf(text, "*s]"),
    message: expect.stringMatching(/alias \*s inside the value/),
  });
});

test("an alias of nothing is refused", async () => {
  const error = await refusal(changed(["title: Tank-wall", "title: *no # Tank-wall"]));
  expect(error.problems[0]!.message).toMatch(/alias \*no, expected an anchor &no before it/);
});

test("a merge of something else than a mapping is refused", async () => {
  const error = await refusal(changed(["  world: { up: z }", "  <<: 3"]));
  expect(error.problems[0]!.message).toMatch(/<< with something else than a mapping/);
});

test("brackets nested beyond all use are refused, however deep", async () => {
  for (const depth of [60, 3000, 200_000]) {
    const { milliseconds, error } = await timed(`title: ${"[".repeat(depth)}${"]".repeat(depth)}`);
    expect(error.code).toBe("yaml-depth");
    expect(error.problems[0]!.message).toMatch(/nested too deep, expected at most 40 levels/);
    expect(milliseconds).toBeLessThan(30_000);
  }
});

describe("text that is no text", () => {
  test("NUL characters are refused with their place", async () => {
    const text = changed(["primary: rms", "primary: r\0ms"]);
    const error = await refusal(text);
    expect(error.code).toBe("manifest-not-text");
    expect(error.problems[0]).toMatchObject({
      place: placeOf(text, "\0"),
      message: expect.stringMatching(/NUL character, expected text in UTF-8/),
    });
  });
  test("bytes that are not UTF-8 are refused with their place", async () => {
    // 0xE9 is e acute in Latin-1 and no UTF-8; decoding leaves the replacement character
    const bytes = Buffer.concat([Buffer.from("title: Tank\nbaseline: b"), Buffer.from([0xe9]), Buffer.from("\n")]);
    const error = await refusal(new TextDecoder().decode(bytes));
    expect(error.problems[0]).toMatchObject({
      place: "campaign.yaml:2:12",
      message: expect.stringMatching(/bytes that are not UTF-8/),
    });
  });
});

describe("faulty YAML names its place", () => {
  const cases: [string, string, string, string, RegExp, RegExp][] = [
    [
      "a tab for indentation",
      "  world: { up: z }",
      "\tworld: { up: z }",
      "\tworld",
      /found faulty YAML: Tabs/,
      /spaces, not tabs/,
    ],
    ["a bracket that is not closed", "[static.bag]", "[static.bag", "runs:", /found faulty YAML/, /brackets/],
    ["a quote that is not closed", "title: Tank", 'title: "Tank', "", /found faulty YAML/, /quotes/],
    [
      "a key written twice",
      "candidate: weighted",
      "candidate: weighted\ncandidate: bare",
      "candidate: bare",
      /the key "candidate" a second time, expected it once \(first at 3:1\)/,
      /once/,
    ],
    ["a tag", "title: Tank", "title: !danger Tank", "!danger", /found an explicit tag/, /leave out tags/],
    ["a key that is a list", "primary: rms", "[a, b]: rms", "[a, b]", /a key that is no text/, /one plain name/],
    [
      "the key __proto__",
      "primary: rms",
      "__proto__: rms",
      "__proto__",
      /the key "__proto__", expected a name/,
      /one plain name/,
    ],
    ["a second document", "sham: ballast ", "---\nsham: ballast ", "---", /found faulty YAML/, /take out the line ---/],
  ];
  test.each(cases)("%s", async (_, from, to, at, message, hint) => {
    const text = changed([from, to]);
    const error = await refusal(text);
    expect(error.code).toBe("yaml-syntax");
    const problem = error.problems.find((one) => message.test(one.message));
    expect(problem?.hint).toMatch(hint);
    if (at !== "") expect(problem?.place).toBe(placeOf(text, at));
    expect(problem?.place).toMatch(/^campaign\.yaml:\d+:\d+$/);
  });
});

test("names that objects are born with are names like others", async () => {
  const text = example.replaceAll("bare", "constructor").replaceAll("orbit", "toString");
  const error = await refusal(text.replace("configuration: constructor", "configuration: hasOwnProperty"));
  expect(error.problems.map(({ message }) => message)).toEqual([
    expect.stringMatching(
      /found "hasOwnProperty", expected a declared configuration: constructor, weighted or ballast/,
    ),
  ]);
});

test("a file of a hundred thousand unknown keys is refused without a suggestion for each", async () => {
  const { milliseconds, error } = await timed(Array.from({ length: 100_000 }, (_, index) => `k${index}: 1`).join("\n"));
  expect(error.problems.length).toBeLessThanOrEqual(1000);
  expect(milliseconds).toBeLessThan(60_000);
});
