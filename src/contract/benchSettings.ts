/**
 * Every threshold of the bench, SI units; they are written to `bench.settings` of evaluation.json. House values unless a
 * source is named; those that `moving-moment` checks of the flights share stand in the flights' settings.
 */
export const benchSettings = {
  /** harmonics of the cycle rate that are fitted */
  harmonics: 5,
  /** bins on either side of a harmonic from which its noise is read */
  neighbours: 4,
  /** cycles left out at the start: a circle starts with a step of velocity, three times the later force */
  first_cycles: 1,
  /** with fewer whole cycles nothing is left out (a creep run) */
  keep_all_below: 4,
  /** fewest whole cycles that a run is split over */
  least_cycles: 2,
  /** an arm that travels less than this between its ends does not move, m */
  least_travel: 0.005,
  /** of its travel: as far from where it rests the arm is on its way */
  moving_share: 0.002,
  /** a harmonic of the travel enters where it is above this, m, and this share of the largest */
  least_amplitude: 0.0005,
  least_amplitude_share: 0.02,
  /** a cycle this long or longer is a creep run: what is left of inertia is below noise, s */
  creep_period: 20,
  /** shortest rest that a tare is taken from, s */
  least_rest: 1,
  /** drift that the tares leave over the cycles, as a share of the baseline's amplitude */
  drift_share: 0.1,
  /** filed cycles against those that the arm ran: starting and stopping take up to one */
  cycles_apart: 1,
  /** between the configurations within a refit: sensitivity and zero of such sensors move with temperature, K */
  temperature_apart: 5,
  /** filed speed against the measured one */
  speed_share: 0.05,
  /** the force's own peak against the arm's period */
  period_share: 0.002,
  /** part of a configuration's mean that is not in step with the arm, of the baseline's (the spec of what moves in flight) */
  phase_share: 0.05,
  phase_level: 0.99,
  interval_level: 0.95,
  /** part across the travel, of the part along it */
  turned_share: 0.1,
  /** closure of force and moment: further than this from 1 with its interval clear of 1 */
  closure_share: 0.1,
  /** a known mass: force and moment within this of what they are to be, where no cross-talk is declared */
  known_mass_share: 0.05,
  /** levers found by a known mass or a tap: this far from the declared one, m */
  lever_off: 0.01,
  /** up-stroke against down-stroke, as a share of the baseline's amplitude */
  stroke_share: 0.12,
  /** what no harmonic of the travel explains, as a share of the first harmonic's rms: a loose mount rattles */
  loose_share: 0.2,
  /** ... and this many times what the other runs of its kind show (median) */
  loose_ratio: 2.5,
  /** readings this close to full scale are saturated */
  saturated_share: 0.995,
  /** and beyond this no sensor reads: the unit is another */
  over_scale: 1.3,
  /** rate of the readings: scatter of the steps over their median */
  jitter_share: 0.15,
  gap_intervals: 2.5,
  /** device filter not declared: below this rate aliases cannot be excluded, Hz */
  alias_rate: 500,
  /** ratio of a harmonic to the fixture's resonance: doubt, and left out (errors of 4 and 12 %) */
  resonance_doubt: 0.2,
  resonance_drop: 0.33,
  /** resonances of two configurations further apart than this are named */
  resonance_apart: 0.1,
  /** growth: the travel may vary by this over the speeds where it is not measured */
  travel_share: 0.02,
  least_refits: 3,
  least_speeds: 3,
  family_level: 0.05,
} as const;

export type BenchSettings = { readonly [key in keyof typeof benchSettings]: number };
