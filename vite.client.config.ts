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
  },
});
