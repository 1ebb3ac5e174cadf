/** Whose axes x, y and z are: the world's, those of each run's heading (forward, left, up), or the measured vehicle's own. */
export const judgedAxes = ["world", "heading", "vehicle"] as const;
export type JudgedIn = (typeof judgedAxes)[number];
