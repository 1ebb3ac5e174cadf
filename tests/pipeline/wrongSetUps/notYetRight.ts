/** Set-ups that still pass with a wrong number. A row that is mended leaves this list: its test fails while it stands here. */
export const notYetRight: ReadonlySet<string> = new Set([
  "the vehicle's markers lie 80 mm above its body point",
  "a tool marker slipped by 9 mm in the candidate's runs",
  "the vehicle's body was created anew with the counterweights on",
  "the tool is stamped 12 ms later than the vehicle in the candidate's runs",
  "the arm's command is stamped 40 ms early in the candidate's runs",
  "the setpoint is stamped 40 ms late in the candidate's runs",
  "the estimate is taken for the setpoint",
  "the setpoint is read from the estimate",
  "the candidate's recordings end early",
  "the baseline's recorders were started late",
  "each capture stands beside the onboard log of the next flight",
  "the capture jumps by 12 mm halfway through the candidate's cycles and stays",
]);
