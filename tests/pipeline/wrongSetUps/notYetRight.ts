/** Set-ups that still pass with a wrong number. A row that is mended leaves this list: its test fails while it stands here. */
export const notYetRight: ReadonlySet<string> = new Set([
  "the vehicle's markers lie 80 mm above its body point",
  "the vehicle's body was created anew with the counterweights on",
  "the tool is stamped 12 ms later than the vehicle in the candidate's runs",
]);
