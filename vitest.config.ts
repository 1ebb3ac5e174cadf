import { defineConfig } from "vitest/config";
import { BaseSequencer, type TestSpecification } from "vitest/node";

const counts = process.env.COUNTERPOISE_COUNTS;

/** What takes longest, longest first: begun last, one of them would run on alone while the other core rests. */
const dearest = [
  "tests/pipeline/wrongSetUps/",
  "tests/browser/",
  "tests/pipeline/cleanCampaigns",
  "tests/comparison/invariances",
  "tests/pipeline/inspect/drafts",
  "tests/cli/inspect",
  "tests/alignment/cycles/findCycles",
  "tests/pipeline/",
];

class DearestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ moduleId }: TestSpecification): number => {
      const found = dearest.findIndex((beginning) => moduleId.includes(beginning));
      return found < 0 ? dearest.length : found;
    };
    return (await super.sort(files)).sort((a, b) => place(a) - place(b));
  }
}

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    globalSetup: ["tests/browser/sampleService.ts"],
    testTimeout: 120_000,
    hookTimeout: 120_000,
    pool: "threads",
    maxWorkers: 2,
    // the modules hold no state that a test changes: loading them again for each file took longer than many of the files
    isolate: false,
    sequence: { sequencer: DearestFirst },
    reporters: counts ? ["default", ["json", { outputFile: counts }]] : ["default"],
  },
});
