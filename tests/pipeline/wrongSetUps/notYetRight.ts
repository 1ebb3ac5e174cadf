/** Set-ups that still pass with a wrong number. A row that is mended leaves this list: its test fails while it stands here. */
export const notYetRight: ReadonlySet<string> = new Set([
  // the gyro by which clocks were joined confirms itself: the arm's delay differs by as much, which a note says
  "a filter of 15 ms was set on the candidate's gyro, by which the clocks are joined",
  // its offsets are doubted where they are most of the difference; that the tool's path grew with them is not seen
  "the candidate's capture is 3 % too large",
]);
