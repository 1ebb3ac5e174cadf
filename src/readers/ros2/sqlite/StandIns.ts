/** Pages that stand in for those of the database file, in a file beside it. */
export interface StandIns {
  /** page -> byte of its content in the file beside the database */
  readonly pages: ReadonlyMap<number, number>;
  /** pages that the database has with them; null where the file beside it does not say */
  readonly size: number | null;
  /** what is to be said of it */
  readonly note: string | null;
}
