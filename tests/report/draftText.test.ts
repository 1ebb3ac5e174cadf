import { expect, test } from "vitest";
import { parse } from "yaml";
import { yamlText } from "../../src/report/draft/summariseDraft.ts";

test.each(["a\u009b31mb", "del\u007f", "line\u2028end", "right\u202eleft", 'quote " and \\', "Prüfstand Süd"])(
  "a name with what a terminal acts on is the same name to YAML, and harmless before (%j)",
  (name) => {
    const text = yamlText(name);
    expect(text).not.toMatch(/[\p{Cc}\u2028\u2029\u202a-\u202e]/u);
    expect(parse(`name: ${text}`)).toEqual({ name });
  },
);
