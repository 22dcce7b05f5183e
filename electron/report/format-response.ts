/** Spectra, responses, error budgets and events of one flight in report.json. */
import * as v from 'valibot'
import { SHOWN_SIGNALS } from '../../workers/comparison/shown-signals.ts'
import { axis, count, finite, reportedResult } from './format-parts.ts'

/** Figures of an estimated step response; of a refused one each figure with the reason. */
const stepFigures = v.array(v.object({ figure: v.string(), ...reportedResult.entries }))

/** What one logged signal holds over frequency; null parts with the reason. */
const signalSpectrum = v.object({
  signal: v.picklist(SHOWN_SIGNALS),
  /** Of the samples; 'as logged' for a controller's terms, 'full' for motors' shares. */
  unit: v.string(),
  /** Root mean square by bands, in that unit, from the Welch density; null with the reason. */
  bands: v.nullable(v.array(v.object({ from_hz: finite, to_hz: finite, rms: finite }))),
  segments: v.nullable(count),
  reason: v.nullable(v.string()),
})

/** One axis' results of each flight's events. */
const byAxis = v.array(v.object({ axis, ...reportedResult.entries }))

/** Lines of rotors and blades: where they are in the air, and where a log of this rate shows them. */
const rotorLines = v.object({
  /** From logged speeds, or found in the noise as the strongest line that rises with throttle; null: none. */
  from: v.nullable(v.picklist(['logged', 'found'])),
  sentence: v.nullable(v.string()),
  reason: v.nullable(v.string()),
  /** What logged speeds were divided by. */
  polePairs: v.nullable(count),
  lines: v.array(
    v.object({
      name: v.string(),
      f_hz: finite,
      low_hz: finite,
      high_hz: finite,
      shown_hz: finite,
      folded: v.boolean(),
    }),
  ),
  cautions: v.array(v.string()),
  method: v.object({ id: v.string(), version: count }),
})

/** Group delay of the filters that the flight's settings describe, together per place in the loop. */
const filterDelays = v.object({
  reason: v.nullable(v.string()),
  places: v.array(
    v.object({
      place: v.string(),
      filters: v.array(v.string()),
      /** Of slow movements, and at 50 Hz. */
      slow: reportedResult,
      busy: reportedResult,
    }),
  ),
})

/** How one axis of one flight answers to its setpoint over the common span. */
const axisResponse = v.object({
  axis,
  /** rise (10-90 %), fullRise (0-100 %), half, peak, overshoot, settle2, settle5: of the estimated step response. */
  step: stepFigures,
  /** The same figures by themselves for demands up to split_dps and beyond. */
  byDemand: v.object({ split_dps: finite, small: stepFigures, large: stepFigures }),
  /** From the unfiltered to the filtered gyro, where both are logged: delay of slow movements, and the -3 dB point. */
  gyroFilters: v.object({ delay: reportedResult, corner: reportedResult }),
  closedLoop: v.object({
    bandwidth: reportedResult,
    resonance: reportedResult,
    resonanceAt: reportedResult,
    phaseDelay: reportedResult,
    /** Above this the setpoint does not explain the gyro. */
    lastCoherent_hz: v.nullable(finite),
  }),
  /** How long the gyro comes after the setpoint: the best correlation, and the slope of the phase as second opinion. */
  lag: v.object({ byCorrelation: reportedResult, byPhase: reportedResult }),
  /** In windows along the flight's own clock, their middles: setpoint minus gyro, and the lag; null where none can be told. */
  overTime: v.object({
    error: v.array(v.object({ t_s: finite, rms_dps: v.nullable(finite), bias_dps: v.nullable(finite) })),
    lag: v.array(v.object({ t_s: finite, lag_ms: v.nullable(finite) })),
    windows: v.object({ error_s: finite, lag_s: finite }),
    reason: v.nullable(v.string()),
    method: v.object({ id: v.string(), version: count }),
  }),
  /** Parts of the mean square of setpoint minus gyro; they add up to the total. */
  errorBudget: v.object({
    parts: v.nullable(
      v.object({ offset: finite, delay: finite, gain: finite, shape: finite, residual: finite }),
    ),
    total: v.nullable(finite),
    unit: v.string(),
    reason: v.nullable(v.string()),
    samples: count,
    exclusions: v.array(v.object({ what: v.string(), share: finite })),
    method: v.object({ id: v.string(), version: count }),
  }),
  /** Lines that stand out of the gyro's spectrum, strongest first; dB re 1 (deg/s)^2/Hz. */
  lines: v.array(v.object({ f_hz: finite, level_db: finite, prominence_db: finite })),
  signals: v.array(signalSpectrum),
})

export const flightResponse = v.object({
  axes: v.array(axisResponse),
  /** Share of the time in which any motor stood within one step of its highest and its lowest command. */
  headroom: v.object({ atTop: reportedResult, atIdle: reportedResult }),
  /** Our own definitions: root mean square turn away from the setpoint over punches and chops; shaking after drops. */
  throttle: v.object({
    punches: count,
    chops: count,
    drops: count,
    drift: byAxis,
    propWash: byAxis,
  }),
  rotors: rotorLines,
  filterDelays,
})
