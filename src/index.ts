/**
 * The public surface: what another program may import. Everything else may change without notice.
 */
// Errors and shapes

// Alignment
export { type AlignedRun, alignRun } from "./alignment/alignRun.ts";
export {
  type ClockEstimate,
  estimateClock,
  type OffsetCovariance,
  type SightKind,
} from "./alignment/clock/estimateClock.ts";
// Comparison
export { blockedDifference } from "./comparison/blockedDifference.ts";
export { compareCampaign } from "./comparison/compareCampaign.ts";
export { confoundedTrajectories } from "./comparison/confoundedTrajectories.ts";
export type { DifferenceEstimate } from "./comparison/differenceEstimate.ts";
export { differenceInterval } from "./comparison/differenceInterval.ts";
export { differenceP } from "./comparison/differenceP.ts";
export { differencePower } from "./comparison/differencePower.ts";
export { equivalenceP } from "./comparison/equivalenceP.ts";
export { equivalencePower } from "./comparison/equivalencePower.ts";
export { estimateDifference } from "./comparison/estimateDifference.ts";
export { holm } from "./comparison/holm.ts";
export { judgeFamily } from "./comparison/judgeFamily.ts";
export { leaveOneOut } from "./comparison/leaveOneOut.ts";
export { pairLimit } from "./comparison/pairLimit.ts";
export { permutationTest } from "./comparison/permutationTest.ts";
export { runsForEquivalence } from "./comparison/runsForEquivalence.ts";
export { type RunsOverSpread, type RunsWanted, runsNeeded } from "./comparison/runsNeeded.ts";
export { type RunValues, runValues } from "./comparison/runValues.ts";
export { welchDifference } from "./comparison/welchDifference.ts";
export { type Cell, type CellMetric, cellMetrics, cellSchema, type Verdict, verdicts } from "./contract/cell.ts";
export {
  type CampaignEvaluation,
  evaluationSchema,
  type HoverAxisFigures,
  type HoverFigures,
  type NoiseFigures,
  type RunEvaluation,
  type SplitFigures,
  type SubjectTracking,
  type TrackingFigures,
} from "./contract/evaluation.ts";
// Manifest and evaluation
export { readCampaign } from "./contract/manifest/readCampaign.ts";
export { defaultSettings, type Settings } from "./contract/settings.ts";
export { type Check, type CheckCode, checkCodes, type Evidence, type Severity } from "./foundation/checks.ts";
export {
  ArgumentError,
  CounterpoiseError,
  LogError,
  ManifestError,
  NotFiniteError,
  TooFewSamplesError,
} from "./foundation/errors.ts";
export { type Axis, axes, type SignalName, type Subject, signalNames, subjects } from "./foundation/signals.ts";
// Metrics
export { type AttitudeFigures, attitudeError } from "./metrics/attitudeError.ts";
export { type HoverAxis, hoverDrift, hoverRadii, intervalMeans } from "./metrics/hoverDrift.ts";
export { type AxisNoise, flightNoise, staticNoise } from "./metrics/measurementNoise.ts";
export { type DelayOptions, type Response, responseDelay } from "./metrics/responseDelay.ts";
export { successiveDifferenceNoise } from "./metrics/successiveDifferenceNoise.ts";
export {
  type Harmonic,
  type SplitOptions,
  type SynchronousSplit,
  synchronousSplit,
} from "./metrics/synchronousSplit.ts";
export { type ErrorFigures, trackingError, trackingErrorNorm, vectorLengths } from "./metrics/trackingError.ts";
// Mathematics on typed arrays
export { autocorrelationOfPartials, autoregressiveAutocorrelation } from "./numeric/autoregressiveAutocorrelation.ts";
export { autoregressiveToPartial } from "./numeric/autoregressiveToPartial.ts";
export { brentMinimum } from "./numeric/brentMinimum.ts";
export { chiSquaredCdf } from "./numeric/chiSquaredCdf.ts";
export { chiSquaredQuantile } from "./numeric/chiSquaredQuantile.ts";
export { compensatedSum } from "./numeric/compensatedSum.ts";
export { crossCorrelation } from "./numeric/crossCorrelation.ts";
export { crossSpectrumDelay } from "./numeric/crossSpectrumDelay.ts";
export { difference } from "./numeric/difference.ts";
export { effectiveSampleSize } from "./numeric/effectiveSampleSize.ts";
export {
  fitHarmonicDesign,
  fitHarmonics,
  type HarmonicDesign,
  type HarmonicFit,
  type HarmonicShare,
  harmonicDesign,
  harmonicShare,
} from "./numeric/fitHarmonics.ts";
export { fitLine, type LineFit } from "./numeric/fitLine.ts";
export {
  fourierTransform,
  inverseFourierTransform,
  nextPowerOfTwo,
  type Spectrum,
} from "./numeric/fourierTransform.ts";
export { harmonicBasis } from "./numeric/harmonicBasis.ts";
export { interpolateLinear } from "./numeric/interpolateLinear.ts";
export { lagOneAutocorrelation } from "./numeric/lagOneAutocorrelation.ts";
export { type LeastSquaresFit, leastSquares } from "./numeric/leastSquares.ts";
export { mean } from "./numeric/mean.ts";
export { median } from "./numeric/median.ts";
export { noncentralTCdf } from "./numeric/noncentralTCdf.ts";
export { normalCdf } from "./numeric/normalCdf.ts";
export { normalQuantile } from "./numeric/normalQuantile.ts";
export { parabolicPeak } from "./numeric/parabolicPeak.ts";
export { partialToAutoregressive } from "./numeric/partialToAutoregressive.ts";
export { phaseTransformCorrelation } from "./numeric/phaseTransformCorrelation.ts";
export { quantile } from "./numeric/quantile.ts";
export { quantileSorted } from "./numeric/quantileSorted.ts";
export { angularDistance } from "./numeric/quaternion/angularDistance.ts";
export { conjugateQuaternion } from "./numeric/quaternion/conjugateQuaternion.ts";
export { continuousSigns, type QuaternionColumns } from "./numeric/quaternion/continuousSigns.ts";
export { type EulerAngles, eulerFromQuaternion } from "./numeric/quaternion/eulerFromQuaternion.ts";
export { meanQuaternion } from "./numeric/quaternion/meanQuaternion.ts";
export { multiplyQuaternions } from "./numeric/quaternion/multiplyQuaternions.ts";
export { normalizeQuaternion } from "./numeric/quaternion/normalizeQuaternion.ts";
export { quaternionFromEuler } from "./numeric/quaternion/quaternionFromEuler.ts";
export { quaternionFromRotationVector } from "./numeric/quaternion/quaternionFromRotationVector.ts";
export { rotateVector } from "./numeric/quaternion/rotateVector.ts";
export { rotateVectorInverse } from "./numeric/quaternion/rotateVectorInverse.ts";
export { rotationMatrix } from "./numeric/quaternion/rotationMatrix.ts";
export { rotationVector } from "./numeric/quaternion/rotationVector.ts";
export { slerp } from "./numeric/quaternion/slerp.ts";
export { areCollinear, type RigidFit, rigidFit } from "./numeric/rigidFit.ts";
export { rootMeanSquare } from "./numeric/rootMeanSquare.ts";
export { sampleStandardDeviation } from "./numeric/sampleStandardDeviation.ts";
export { type SeededRandom, seededRandom } from "./numeric/seededRandom.ts";
export { type SlopeEstimate, slopeInColouredNoise } from "./numeric/slopeInColouredNoise.ts";
export { studentTCdf } from "./numeric/studentTCdf.ts";
export { studentTQuantile } from "./numeric/studentTQuantile.ts";
export { vonNeumannRatio } from "./numeric/vonNeumannRatio.ts";
export { diskEffects, type Effects } from "./pipeline/effects.ts";
// The journey
export { evaluateCampaign, inTurn, type MeasureRuns, type Progress } from "./pipeline/evaluateCampaign.ts";
export { type FolderEffects, inspectFolder } from "./pipeline/inspectFolder.ts";
export { type InspectEffects, inspectLog } from "./pipeline/inspectLog.ts";
export { evaluationJson, writeEvaluation } from "./pipeline/writeEvaluation.ts";
// Readers
export type { LogReader, ReadOptions } from "./readers/LogReader.ts";
export { readLog } from "./readers/readLog.ts";
export { surveyLog } from "./readers/surveyLog.ts";
// Report
export { evaluationText } from "./report/evaluationText.ts";
export { defaultFlight, flightSettings, stillAir } from "./simulation/flightSettings.ts";
export { type CampaignPlan, manifestFor, type PlannedRun } from "./simulation/manifestFor.ts";
// Simulation
export { type SimulatedFlight, simulateFlight } from "./simulation/simulateFlight.ts";
export { toRecording } from "./simulation/toRecording.ts";
