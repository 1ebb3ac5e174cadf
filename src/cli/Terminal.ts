/** Where a command writes, and what it may assume of the reader. Tests pass their own. */
export interface Terminal {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  /** columns for tables on standard output */
  readonly width: number;
  /** standard output is a terminal that shows colour */
  readonly colour: boolean;
  /** standard error is a terminal: progress may be shown there */
  readonly progress: boolean;
  /** show where a fault of the tool happened */
  readonly debug: boolean;
}
