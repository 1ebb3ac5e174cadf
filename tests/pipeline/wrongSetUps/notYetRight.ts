/** Set-ups that still pass with a wrong number. A row that is mended leaves this list: its test fails while it stands here. */
export const notYetRight: ReadonlySet<string> = new Set([]);
