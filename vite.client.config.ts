import { resolve } from "node:path";
import { defineConfig } from "vite";

/** The dashboard's files, beside the built program; no source is inlined, so that the page's policy can forbid it. */
export default defineConfig({
  root: resolve(import.meta.dirname, "client"),
  base: "./",
  build: {
    outDir: resolve(import.meta.dirname, "dist/client"),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      output: {
        // what the first screen draws with, and what the other pages share: many small files pack worse than a few
        codeSplitting: {
          includeDependenciesRecursively: false,
          groups: [
            {
              name: "board",
              test: /client\/figures\/(plainAxis|svg|runLine|cellSketch|boardScale|orderFigure|panels)|node_modules\/d3-(?!selection|dsv)/,
              priority: 2,
            },
            {
              name: "drawings",
              test: /client\/(figures|views\/run\/(figuresTable|RunPage))|d3-selection/,
              minShareCount: 2,
              priority: 1,
            },
          ],
        },
      },
    },
  },
});
