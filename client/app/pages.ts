import type { Place } from "./place.ts";
import type { View } from "./View.ts";

/** The pages by name. A page is loaded when it is first opened: the first screen waits for no other. */
export const pages: Readonly<Record<Place["page"], () => Promise<View>>> = {
  answer: async () => (await import("../views/answerView.ts")).answerView,
  cell: async () => (await import("../views/cellView.ts")).cellView,
  run: async () => (await import("../views/runView.ts")).runView,
  synchronous: async () => (await import("../views/synchronousView.ts")).synchronousView,
};
