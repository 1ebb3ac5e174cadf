/** Whose colour a drawing wears. */
export type Tone = "baseline" | "candidate" | "sham" | "other";
