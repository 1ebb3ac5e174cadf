import { expect, test } from "vitest";
import { csvText, fileName } from "../../client/figures/saveDrawing.ts";

// RFC 4180: fields with a comma, a quote or a line break are quoted, quotes doubled
test("a table becomes comma-separated values that hold what people write, and nothing for what is not known", () => {
  const table = {
    columns: ["run", "rms (mm)", "note"],
    rows: [
      ["flight-01", 6.5, 'arm "jammed", twice'],
      ["flight-02", null, "two\nlines"],
    ],
  };
  expect(csvText(table)).toBe('run,rms (mm),note\nflight-01,6.5,"arm ""jammed"", twice"\nflight-02,,"two\nlines"\n');
});

test("file names hold nothing a file system could stumble over", () => {
  expect(fileName("runs-reach/../x y-é")).toBe("runs-reach-..-x-y-e");
  expect(fileName("../..")).toBe("figure");
  expect(fileName("ö".repeat(300)).length).toBeLessThanOrEqual(80);
});
