import type { Campaign } from "./campaign.ts";

/**
 * Every threshold and choice the evaluation rests on, in SI units. They are written to `settings` in
 * evaluation.json, so that a reader can see what a finding means. House values unless a source is named.
 */
export const defaultSettings = {
  /** a stretch without a valid pose longer than this many median intervals is a gap (design, section 5) */
  gap_intervals: 2.5,
  /** this many identical poses in a row are a frozen pose (design, section 5): real capture noise never repeats */
  frozen_poses: 3,
  /**
   * position or attitude alone: written to this or finer, m or parts of a quaternion, three equal ones are no chance (capture noise
   * is ten times as large); coarser, a stretch must end in a step of this many times the run's own 95th percentile
   */
  frozen_resolution: 2e-6,
  frozen_step_ratio: 3,
  /** this many samples on one straight line in space and time are interpolated, not measured */
  interpolated_poses: 6,
  /** what was lost of the scored window moves its rms by less than this share even where the error was twice as large there */
  lost_share: 0.05,
  /** a quaternion whose norm is further than this from 1 is not an attitude */
  quaternion_norm_tolerance: 1e-3,
  /** of poses that go to and fro: change from one to the next against that over several, and the acceleration it would take, m/s^2 */
  alternation_ratio: 2,
  alternation_acceleration: 100,
  /** an implied speed above this, and above `jump_speed_ratio` times the run's own 95th percentile, is a jump, m/s */
  jump_speed: 3,
  jump_speed_ratio: 8,
  /** an implied turn rate above this is a jump of the attitude, rad/s */
  jump_turn_rate: 35,
  /** steps above this share of an impossible one are cut as well: how an excursion ends may be just possible */
  jump_suspicious_share: 0.6,
  /** an excursion of which only the way back is impossible lasts at most this long, s */
  jump_one_sided: 2,
  /** turns below this are no jump, rad; nor below this many times the run's own 95th percentile */
  jump_turn: 0.1,
  jump_turn_ratio: 4,
  /** a lone pose is a spike this far from the middle of its neighbours, m; this many times the usual; this many times their distance */
  spike_distance: 0.012,
  spike_usual_ratio: 12,
  spike_neighbour_ratio: 6,
  /** a vehicle whose mean up is further than this from the world's does not hover level, cosine */
  level_cosine: 0.7,
  /** a mean distance from the setpoint that no hovering vehicle shows, m; of the tool from the arm's command, m */
  implausible_offset: 0.3,
  implausible_arm_offset: 0.05,
  /** markers this far beside the body point are said, m, where the vehicle's tilt swings them by this share of its smallest difference (sd) */
  body_point_off: 0.01,
  body_point_share: 0.5,
  /** another reading of axes or roles must bring the distance down to this share to be believed */
  reading_explains: 0.25,
  /** commanded and measured motion: this share unexplained by the axes as declared, and at most this by others, is a suspicion */
  direction_unexplained: 0.5,
  direction_explained: 0.1,
  /** gyro and captured attitude: the same motion from this agreement on (1: identical, -1: reversed); other axes must agree better by this */
  gyro_agreement: 0.8,
  gyro_better: 0.2,
  /** gyro and captured attitude: what turns by less than this in both, rad/s rms, may be noise (a hover turns by some hundredths) */
  gyro_moves: 0.01,
  /** a gyro this many times as fast as the attitude is in degrees (57.3) */
  gyro_degrees: 20,
  /** a flight this far below the place where the vehicle stood is upside down, m; standing: within this, peak to peak, m */
  takeoff_drop: 0.3,
  standing_still: 2e-3,
  /** a mean yaw further than this from the one that counts as commanded makes that doubtful, rad */
  assumed_yaw: 0.17,
  /** an assumed yaw is doubted from here on where lever arm times angle exceeds the smallest difference, rad (2 degrees: a hover keeps its yaw better) */
  least_assumed_yaw: Math.PI / 90,
  /** gross contradictions make a run unusable: a mean distance from what was commanded, m; a yaw off by this, rad (30 degrees) */
  gross_offset: 1,
  gross_yaw: Math.PI / 6,
  /** a body that by half of its steps moves faster than this is not one that was captured, m/s; whatever the run's own steps are */
  impossible_speed: 20,
  /** headings of a trajectory's runs further apart than this are judged forward, left, up and not along the room's axes, rad (5 degrees) */
  headings_apart: Math.PI / 36,
  /** a command whose attitude is missing in more than this share of its messages has none */
  attitude_missing: 0.1,
  /** a static capture that wanders more than this (sd) is none, m */
  static_spread: 5e-3,
  /** a run is unusable where less than this share of its scored window holds valid poses (design, section 5) */
  valid_fraction: 0.9,
  /** a stamp further than this from the usual distance between stamp and receipt belongs to another epoch, s */
  stamp_outlier: 60,
  /**
   * a pose that shifts from one sample to the next and stays: by more than this, m and rad; than start and stop within a sample
   * would take at these accelerations, m/s^2 and rad/s^2; and than this many times the usual step
   */
  shift_distance: 0.015,
  /** or by more than this, m, where it is this many times the usual step as well */
  shift_small_distance: 0.005,
  shift_small_ratio: 12,
  shift_angle: 0.05,
  shift_acceleration: 60,
  shift_turn_acceleration: 150,
  shift_usual_ratio: 6,
  /** up to this share of zero stamps the messages that bear them are left out; more, and the time of receipt serves for all */
  zero_stamps: 0.01,
  /** clock: correlation grid, s; smoothing of the rates, s (half and twice as much are tried too); shortest usable overlap, s */
  clock_grid: 0.01,
  clock_smoothing: 0.04,
  clock_overlap: 5,
  /** clock: a second peak above this share of the first, or less than this log-likelihood below it, is ambiguous */
  clock_second_peak: 0.995,
  /** clock: only rivals above this share of the first peak are compared by likelihood */
  clock_rival_peak: 0.5,
  /** clock: searched on both sides of what is expected where the manifest does not say, s */
  clock_search: 2,
  /** clock: a drift beyond this, s/s, is no clock's: quartz stays below 1e-4 (common practice, no source), a time service slews by 5e-4 at most (RFC 5905) */
  clock_skew: 5e-4,
  /** clock: looked for again this closely about the best of all overlaps, s */
  clock_search_again: 1,
  /**
   * clock: logs joined by motion alone have this share of it in common about every axis that has this share of the largest axis'
   * energy in both, and in the one this share of the other's. In simulated flights it is 0.94 or more, of two flights 0.6 or less
   */
  clock_axis_common: 0.5,
  clock_axis_share: 0.01,
  clock_axis_alike: 0.25,
  /** clock: two sights that agree less than this (0 to 1) at their best do not show one motion */
  clock_agreement: 0.3,
  /**
   * clock: stamps of one motion by this further apart than declared or assumed are contradicted, s: by a gyro, and by an
   * estimate, which lags by its filter; and by this many standard errors
   */
  clock_apart: 0.01,
  clock_apart_estimate: 0.02,
  clock_apart_standard_errors: 4,
  /** clock: stamps and receipt times further apart than this must not be mixed on one clock without a word, s */
  clock_mixable: 0.05,
  /** clock: captured bodies whose stamps lie further apart than this are said, s (1 mm at 0.25 m/s); looked for within, s */
  bodies_apart: 0.005,
  /** or of the runs of a configuration or block together, where chance gives such a mean lag more seldom than this */
  bodies_apart_p: 5e-3,
  bodies_search: 0.5,
  clock_log_likelihood: 8,
  /**
   * clock: axes that differ by more than this many seconds and standard errors disagree, where both sights agree about each of
   * them by this much (0 to 1). At three standard errors, whatever they agreed, one clean simulated flight in ten did
   */
  clock_axes_seconds: 0.005,
  clock_axes_standard_errors: 5,
  clock_axes_agreement: 0.8,
  /** clock: axes of gyro and capture turned against each other by more than this, rad (1 degree), and so many standard errors are turned back for it */
  clock_mount: Math.PI / 180,
  clock_mount_standard_errors: 5,
  /**
   * clock: how much clocks are believed to drift beforehand, s/s (one standard deviation): of a short flight the motion alone knows the
   * drift to some 1e-4 only, which at the ends of the record are milliseconds
   */
  clock_skew_believed: 1e-4,
  /** clock: a drift is clear of what is believed by this many standard errors */
  clock_skew_standard_errors: 3,
  /** clock: the least delay of receipt, which no receipt shows, is taken to be about this, s (some ms on a wired network: common practice, no source) */
  clock_receipt_floor: 0.005,
  /** clock: stamps that step against receipt by more than this, s, and so many times the spread on either side, were set within the run */
  clock_set: 0.1,
  clock_set_spreads: 3,
  /** clock: set within the run by more than this, s, and so many standard errors: above, since its place is sought as well */
  clock_step: 0.005,
  clock_step_standard_errors: 5,
  /**
   * clock: an offset known less well than this in the middle of the record is doubted, s (at 0.25 m/s 1.3 mm); one that needs a
   * drift beyond `clock_skew` where its ends are known less well than the second
   */
  clock_vague: 0.005,
  clock_vague_end: 0.01,
  /** hold window: commands constant to this, m; and this, rad; for this long, s; from this long after a change, s */
  hold_constant: 1e-3,
  hold_turn: 0.0175,
  hold_length: 5,
  hold_settle: 3,
  /** logged trajectory without a period: scored from this long after the vehicle first came this close to its setpoint, s and m */
  stretch_settle: 3,
  stretch_arrival: 0.1,
  /** commands of its runs are one where, laid over each other, they are apart by less than this share of their spread */
  stretch_alike: 0.1,
  /** a run that covers less than this share of the others' stretch (median) does not shorten it */
  stretch_least: 0.5,
  /** uneven-error: more than this share of the mean square error in a stretch no longer than this share of the window */
  uneven_share: 0.5,
  uneven_stretch: 0.1,
  /** hold windows shorter than this get the check `short-hold`, s */
  hold_advised: 10,
  /**
   * what a command means between two messages, where not declared: one that comes less often than this, s, is looked at: what a
   * smooth declared shape says, else linear where each message is nearly the middle of its neighbours (second to first differences
   * below this ratio: a sinusoid of 4 messages a period has 1, places taken at random 1.7), else hold; and hold from this interval
   * on, s. No limit is a rate in use (10, 5, 2, 1 Hz): jitter must not decide
   */
  command_interval: 0.15,
  command_smooth: 0.9,
  command_seldom: 0.7,
  /** a slow command follows its declared shape where a waveform of its period leaves less than this share of its spread */
  command_shape: 0.03,
  /** coarse-command: the other reading moves an rms by more than this share of it, or this share of the smallest difference */
  coarse_share: 0.1,
  coarse_smallest: 0.5,
  /**
   * measured-command: a setpoint whose third differences are above this from message to message (median), m, was measured; where
   * the vehicle makes its motion less than this after it, s; or by less than three standard errors, and half of the fastest response; or leaves less than so many times the noise of both.
   * House values: third differences of trackers and estimators are 0.1 mm and more, and vehicles respond within 0.1 to 0.7 s
   */
  command_rough: 5e-5,
  command_least_delay: 0.015,
  command_response: 0.1,
  command_same: 1.5,
  /** a command is taken to have ended this many median intervals after its last message */
  command_gap_intervals: 10,
  /** a command must match its declared trajectory to this share (design, section 5) */
  trajectory_tolerance: 0.05,
  /** fewer whole cycles than this get the check `few-cycles` */
  cycles_advised: 5,
  /** fewer pose samples per cycle than this, or per second, get the check `low-rate` */
  samples_per_cycle: 20,
  pose_rate: 20,
  /** arm error only where the effector samples around a vehicle sample are no further apart than this many intervals */
  effector_neighbour_intervals: 1.5,
  /** response delay: searched from, to, s; a command must move this many noise sd; rival minimum within this share */
  delay_from: -0.2,
  delay_to: 1,
  delay_noise_ratio: 5,
  delay_rival: 0.1,
  /**
   * response delays of configurations, blocks or runs apart by more than this are said, s (the arm's; twice as much for
   * effector and vehicle, which mass and air delay too), where chance gives such a difference more seldom than this
   */
  delay_apart: 0.01,
  /**
   * the arm's, between configurations, s: said from here on where it makes more than the smallest difference, and no receipt shows
   * how commands were stamped. Counterweights on the vehicle do not slow a servo; one sample of a command at 100 a second is 10 ms
   */
  arm_delay_apart: 0.003,
  /**
   * more than mass, servo and controller are seen to change a delay by (simulated counterweights: 7 to 20 ms), s: a doubt even
   * where gyro or estimate confirm the clocks, since they say nothing of the stamps of the command
   */
  delay_apart_confirmed: 0.03,
  /** a capture that makes one configuration larger than the other by more than this share is another capture (0.3 mm in an arm's path of 60 mm) */
  scale_apart: 0.005,
  /** a tool at rest on the vehicle that takes part in its motion by this share more (logarithm) in one configuration. Arms give way by some per cent, and noise takes a tenth off where the vehicle wanders by 1 mm */
  follow_apart: 0.15,
  /** an arm that moves the vehicle by so many times as much with counterweights as without was filed under the other name, or they sit on its own side */
  moment_reversed: 1.15,
  /** vehicle and tool that hang turned by more than this in one configuration are of another capture, rad (0.6 mm in an arm's path of 60 mm) */
  turn_apart: 0.01,
  /** an arm that moves by this (rms) and this much before its command is on another clock than it: m, s */
  start_stop_motion: 0.01,
  start_stop_lead: 0.02,
  delay_apart_p: 1e-3,
  /** harmonics of the cycle rate in the synchronous split */
  harmonics: 5,
  /** frequency bins on either side of a harmonic from which its uncertainty is taken */
  harmonic_neighbours: 8,
  /** seconds after the start of the cycles that are left out where that uncertainty is taken: the start-up is no noise */
  harmonic_settle: 2.5,
  /** shared-rate: chance of one false alarm in a run; smallest share of the amplitude in the cycles that is reported */
  shared_rate_p: 1e-3,
  shared_rate_share: 0.2,
  /**
   * hover drift: means over this long, s; highest order of the autoregressive noise model. At 0.2 s an order of 4 reaches
   * far enough for intervals that cover, at 0.1 s it does not (tests/numeric/slopeInColouredNoise.test.ts)
   */
  drift_mean: 0.2,
  drift_order: 4,
  /** hover: what is slower than this counts as low band, Hz */
  band_split: 1,
  /** a run whose rms is below this many noise sd is at the noise (design, section 5) */
  noise_ratio: 3,
  /**
   * noise-apart: fast motion above this many times that of the quieter runs is of another capture, and counts where it raises the rms by this
   * share of the smallest difference more; below one in so many of the louder runs' it was filtered. Like captures agree within a tenth
   */
  noise_apart_ratio: 1.5,
  noise_apart_share: 0.1,
  noise_filtered_ratio: 2.5,
  /** a vehicle this far from a resting command at the end of its window, and getting further, runs away, m */
  runaway_distance: 1,
  /** one that leaves its command for good: this far, m; this many times as far as in the better tenth of its flight, for this long, s */
  runaway_far: 2,
  runaway_ratio: 5,
  runaway_least: 0.5,
  /** saturated: motor output above this share of full for this share of the scored window */
  saturated_output: 0.98,
  saturated_share: 0.01,
  /** sag: volts per cell, or share of the voltage lost within the scored window */
  sag_cell_voltage: 3.5,
  sag_share: 0.06,
  /** comparison (design, section 6): error rate of a family; level of the interval; of the equivalence interval */
  family_error: 0.05,
  interval_level: 0.95,
  equivalence_level: 0.9,
  /** an offset that carries more than this share of a mean square, or of a difference, is what the rms is about; chance of seeing one */
  constant_share: 0.5,
  constant_p: 0.01,
  /** an offset of any size is seen so surely, where it alone doubts a verdict that sd does not contradict */
  constant_misled_p: 2e-4,
  /** fewer runs than this in a configuration carry no verdict */
  least_runs: 3,
  /** rearrangements are all looked at up to this many, else this many are drawn, from this seed */
  exact_arrangements: 100_000,
  drawn_arrangements: 20_000,
  permutation_seed: 20_251,
  /** a permutation p above this makes a difference fragile */
  permutation_level: 0.05,
  /** runs needed: power at the smallest difference; level of the interval of the spread that gives low and high */
  power: 0.8,
  spread_level: 0.95,
  /** a pair's limit is given from this many degrees of freedom of the spread between like runs */
  pair_least_df: 4,
  /** path: searched this share of a period before and after a sample; seconds where there is no period */
  path_window_share: 0.25,
  path_window: 1,
  /** path: points per cycle; a command slower than this share of its mean speed has no direction there */
  path_points: 50,
  path_slowest: 0.1,
  /** path: of more samples than this only every n-th is measured from the path */
  path_samples: 20_000,
  /** path: a command that travels less than this in a cycle is no path, m */
  path_least_length: 0.01,
  /** path: speeds are slopes over this long, s */
  path_speed_span: 0.1,
  /** budget: by how much tool point and arm base may be off where the manifest does not say, m and rad (1 degree) */
  frame_length: 0.005,
  frame_angle: Math.PI / 180,
  /** allan: averaging times per octave */
  allan_per_octave: 2,
  /** spectrum: periods in a segment; seconds where there is no period; fewest segments; most points kept */
  spectrum_periods: 4,
  spectrum_segment: 5,
  spectrum_least_segments: 4,
  spectrum_points: 120,
  /** coherence is drawn up to this many times the cycle rate, at 60 points at most */
  coherence_harmonics: 8,
  coherence_points: 48,
  /** level of all intervals, and of the coherence that chance exceeds */
  extras_level: 0.95,
  /** copied: share of a run's poses that also stand in an earlier run */
  copied_share: 0.5,
  /**
   * audit, order: a steady drift of this share of the error a flight must not fake a difference above that share. 2 % a
   * flight is the figure by which orders are commonly compared (AAABBB 6 %, ABBA none); the limit is a house value
   */
  audit_drift_per_run: 0.02,
  audit_faked_share: 0.01,
  /** audit, drift seen: what it has faked is doubted above this share of the smallest difference, or of the cell's standard error */
  audit_drift_of_smallest: 0.25,
  audit_drift_of_error: 0.5,
  /** audit, blocks: this many times as many runs of one configuration as of the other is uneven */
  audit_block_ratio: 2,
  /** audit, battery: share of the runs that can be matched with one of the other configuration on the same pack */
  audit_pack_overlap: 1 / 3,
  /** audit, battery: flights by which one configuration comes later on a charge */
  audit_charge_later: 0.5,
  /** audit, mass: weighed and declared may differ by this, kg, and by this many standard errors; a run by this share */
  audit_mass: 0.01,
  audit_mass_errors: 2,
  audit_mass_outlier: 0.01,
  /** audit, lost runs: Fisher's p below this; or this share of one configuration's runs where the other lost none */
  audit_lost_p: 0.1,
  audit_lost_share: 1 / 3,
  /** audit, valid samples: mean and median share of the configurations differ by more than this */
  audit_valid_apart: 0.02,
  /** audit, looks: from this many on a reviewer will ask */
  audit_many_looks: 5,
  /**
   * imbalance: moments of counterweights are distinguished from this share of the largest; fewer runs than this are no setting;
   * the influence is distinguished from 0 below this p; the second harmonic is shown below this one
   */
  imbalance_moment_share: 0.05,
  imbalance_runs: 2,
  imbalance_level: 0.05,
  imbalance_second_level: 0.01,
  /**
   * moving moment: fewest cycles in a row; amplitude from which the arm travels along an axis, m; a step in time of this share of
   * a cycle is a gap; the attitude's deviation is that of its noise below this ratio; level (of a whole campaign, shared among
   * its means) and share (of the larger apparent mass) above which an imaginary part is a phase fault; relative uncertainty of a mass where none is declared; by how much the
   * centre of mass may stand higher or lower for what is shown of it, m
   */
  moving_cycles: 5,
  moving_travel: 0.005,
  moving_gap: 0.1,
  moving_tilt_ratio: 1.1,
  moving_phase_level: 0.98,
  moving_phase_share: 0.05,
  moving_mass_error: 0.005,
  moving_height: 0.01,
  /**
   * costs, house values where nothing else is declared: air at sea level (ISO 2533), kg/m^3; share of a pack that is flown; power of
   * the voltage that thrust goes with, and by how much it may be off; efficiency of rotors, motors and controllers together, usual
   * and from least to most (common practice, no source); thrust-to-weight that is common practice (no source); disc loading
   * beyond which a diameter is wrong, N/m^2; a ledger's sum may be off by this share; packs of one kind differ by this share
   */
  cost_air_density: 1.225,
  cost_usable: 0.8,
  cost_thrust_exponent: 2,
  cost_thrust_exponent_error: 0.5,
  cost_efficiency: 0.5,
  cost_efficiency_least: 0.35,
  cost_efficiency_most: 0.65,
  cost_thrust_to_weight: 2,
  cost_disc_loading_least: 20,
  cost_disc_loading_most: 400,
  cost_ledger: 0.01,
  cost_pack_spread: 0.02,
  /** measured hover power outside these efficiencies is no rotor's: a sensor's scale, or a diameter, is wrong */
  cost_efficiency_absurd_low: 0.15,
  cost_efficiency_absurd_high: 0.85,
  /** a logged voltage above the charged pack's by this share: `full` was read under load */
  cost_voltage_above_full: 0.01,
  /** components: fewer pairs of neighbouring cycles than this say nothing of their correlation (standard error then 0.3) */
  components_least_pairs: 10,
  /** components: more cycles help where twice as many cut the standard error by this share at least */
  components_helpful_cut: 0.1,
  /** plan: runs per configuration and trajectory are proposed up to this many: more is a campaign to think about, not a day */
  plan_most_runs: 12,
  /** plan: blocks proposed at least */
  plan_least_blocks: 2,
  /** plan: flights on one charge of a pack, at most; a day holds no more flights than this */
  plan_flights_per_pack: 4,
  plan_most_flights: 500,
} as const;

/** The settings of a campaign: the usual ones, but for the thresholds that its manifest sets. */
export function settingsFor({ thresholds }: Pick<Campaign, "thresholds">, usual: Settings = defaultSettings): Settings {
  return { ...usual, ...thresholds };
}

export type Settings = { readonly [K in keyof typeof defaultSettings]: number };
