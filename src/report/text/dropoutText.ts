/** What a logger lost because it could not write fast enough: the file is sound, its signals have gaps. */
export function dropoutText({ count, seconds }: { readonly count: number; readonly seconds: number }): string {
  return `the logger could not keep up ${count} time${count === 1 ? "" : "s"} and lost ${seconds.toFixed(3)} s in all, which shows as gaps of its signals`;
}
