import { defineConfig } from "vitest/config";

const counts = process.env.COUNTERPOISE_COUNTS;

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    testTimeout: 120_000,
    hookTimeout: 120_000,
    pool: "threads",
    maxWorkers: 2,
    // the modules hold no state that a test changes: loading them anew for each file took longer than many of the files
    isolate: false,
    reporters: counts ? ["default", ["json", { outputFile: counts }]] : ["default"],
  },
});
