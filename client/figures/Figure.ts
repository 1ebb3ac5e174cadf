/** A drawing that can be downloaded: `svg` is complete by itself (sizes, fonts and colours are resolved on export). */
export interface Drawing {
  readonly svg: SVGSVGElement;
  /** what the drawing shows as a table, for "download as CSV" and for readers who cannot see it; units in the headings */
  readonly table: {
    readonly columns: readonly string[];
    readonly rows: readonly (readonly (string | number | null)[])[];
  };
}

export interface FigureText {
  /** short name, also the name of the downloaded file */
  readonly name: string;
  readonly title: string;
  /** how to read it, in a sentence or two */
  readonly caption: string;
  /** where the manual says how it is computed: page and anchor, such as "methods.html#spectrum" */
  readonly how?: string;
}

/** Whose colour a drawing wears. */
export type Tone = "baseline" | "candidate" | "sham" | "other";
