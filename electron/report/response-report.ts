import { demandOf } from '../../workers/comparison/demand.ts'
import { FILTER_METHOD } from '../../workers/comparison/filter-effect.ts'
import { flightEvents } from '../../workers/comparison/flight-events.ts'
import { frequencyOf, type AxisFrequency } from '../../workers/comparison/frequency.ts'
import {
  ERROR_WINDOWS,
  LAG_METHOD,
  LAG_WINDOWS,
  TRACKING_METHOD,
  type TrackingOverTime,
} from '../../workers/comparison/tracking-over-time.ts'
import { AXES, perAxis, type Axis, type PerAxis } from '../../workers/flight/axes.ts'
import type { FlightSignals } from '../../workers/flight/signals.ts'
import { BUDGET_METHOD } from '../../workers/response/budget.ts'
import { CLOSED_LOOP_METHOD } from '../../workers/response/closed-loop.ts'
import type { ResponseByDemand } from '../../workers/response/by-demand.ts'
import { STEP_METHOD, type StepFigureName, type StepResponse } from '../../workers/response/step-response.ts'
import { findLines } from '../../workers/signal/motor-lines.ts'
import type { Basis, Method, Refused, Result } from '../../workers/signal/result.ts'
import { rotorOverlay, ROTOR_METHOD, type RotorOverlay } from '../../workers/comparison/rotors.ts'
import {
  rotorFactsInSheet,
  sheetDelays,
  SHEET_METHOD,
  type PlaceDelay,
} from '../../workers/signal/sheet-delays.ts'
import type { SheetEntry } from '../../workers/signal/sheet-filters.ts'
import { signalReport } from './signal-report.ts'
import type { Report, ReportedResult } from './format.ts'

const FIGURES: readonly StepFigureName[] = [
  'rise_s',
  'fullRise_s',
  'half_s',
  'peak_s',
  'overshoot_percent',
  'settle2_s',
  'settle5_s',
]
/** Lines below this are the flying, not the motors. */
const LINES_FROM_HZ = 40
const MOST_LINES = 8

/**
 * Responses, spectra's lines, error budgets and headroom of both flights over the common span, with the noise of B
 * against A. Figures stand as the analyses give them: value, unit, interval and cautions, or the reason for none.
 */
export function responseReport(
  a: ReportedFlight,
  b: ReportedFlight,
  offset_s: number,
  span: { readonly t0_s: number; readonly t1_s: number },
): NonNullable<Report['response']> {
  const found = AXES.map((axis) => frequencyOf(a.signals, b.signals, offset_s, span.t0_s, span.t1_s, axis))
  const ofA = found.map(({ axis, a: one }) => ({ axis, one }))
  const ofB = found.map(({ axis, b: one }) => ({ axis, one }))
  return {
    a: flightOf(a, ofA, span.t0_s, span.t1_s),
    b: flightOf(b, ofB, span.t0_s - offset_s, span.t1_s - offset_s),
    noiseDifference: found.map(({ axis, difference }) =>
      'kind' in difference
        ? { axis, overall_db: null, reason: difference.reason, cautions: [] }
        : {
            axis,
            overall_db: Number.isNaN(difference.overall_db) ? null : difference.overall_db,
            reason: Number.isNaN(difference.overall_db)
              ? 'No throttle was flown in both flights long enough.'
              : null,
            cautions: [...difference.cautions],
          },
    ),
  }
}

/** A flight with the settings in force during it. */
export interface ReportedFlight {
  readonly signals: FlightSignals
  readonly settings: readonly SheetEntry[]
}

/** The same for one flight over a span of its own clock. */
function flightOf(
  { signals, settings }: ReportedFlight,
  found: readonly { readonly axis: Axis; readonly one: AxisFrequency }[],
  t0_s: number,
  t1_s: number,
): FlightResponse {
  const responses = perAxis((axis) => found.find((one) => one.axis === axis)!.one.response)
  const events = flightEvents(signals, t0_s, t1_s, responses)
  const byAxis = (results: PerAxis<Result<number>>) =>
    AXES.map((axis) => ({ axis, ...reported(results[axis], results[axis].method) }))
  const { atTop, atIdle } = events.headroom
  return {
    axes: found.map(({ axis, one }) => ({
      ...axisOf(axis, one, demandOf(signals, t0_s, t1_s, axis)),
      signals: signalReport(signals, axis, t0_s, t1_s),
    })),
    headroom: { atTop: reported(atTop, atTop.method), atIdle: reported(atIdle, atIdle.method) },
    throttle: {
      punches: events.punches,
      chops: events.chops,
      drops: events.drops,
      drift: byAxis(events.drift),
      propWash: byAxis(events.wash),
    },
    rotors: rotorsOf(rotorOverlay(signals, t0_s, t1_s, rotorFactsInSheet(settings))),
    filterDelays: delaysOf(sheetDelays(settings, signals.rate_hz)),
  }
}

function rotorsOf(found: RotorOverlay | Refused): FlightResponse['rotors'] {
  const method = { ...ROTOR_METHOD }
  if (found.kind === 'refused')
    return {
      from: null,
      sentence: null,
      reason: found.reason,
      polePairs: null,
      lines: [],
      cautions: [],
      method,
    }
  const { from, sentence, polePairs, cautions } = found
  return {
    from,
    sentence,
    reason: null,
    polePairs,
    lines: found.lines.map(({ name, f_hz, low_hz, high_hz, shown_hz, folded }) => ({
      name,
      f_hz,
      low_hz,
      high_hz,
      shown_hz,
      folded,
    })),
    cautions: [...cautions],
    method,
  }
}

function delaysOf(delays: readonly PlaceDelay[] | string): FlightResponse['filterDelays'] {
  if (typeof delays === 'string') return { reason: delays, places: [] }
  return {
    reason: null,
    places: delays.map(({ place, filters, slow, busy }) => ({
      place,
      filters: [...filters],
      slow: reported(slow, SHEET_METHOD),
      busy: reported(busy, SHEET_METHOD),
    })),
  }
}

const stepOf = (response: StepResponse | Refused) =>
  FIGURES.map((name) => ({
    figure: name.replace(/_.*/, ''),
    ...reported(response.kind === 'refused' ? response : response.figures[name], STEP_METHOD),
  }))

const basisOf = ({ samples, exclusions }: Basis) => ({
  samples,
  exclusions: exclusions.map(({ what, share }) => ({ what, share })),
})

/** Every fourth window: they overlap by three quarters. */
const EVERY = 4

function overTimeOf(found: TrackingOverTime | Refused): ReportedAxis['overTime'] {
  const method = { ...TRACKING_METHOD }
  const windows = { error_s: ERROR_WINDOWS.window_s, lag_s: LAG_WINDOWS.window_s }
  if (found.kind === 'refused') return { error: [], lag: [], windows, reason: found.reason, method }
  const orNull = (value: number | undefined) => (value !== undefined && Number.isFinite(value) ? value : null)
  const thinned = [...found.t_s.keys()].filter((window) => window % EVERY === 0)
  return {
    error: thinned.map((window) => ({
      t_s: found.t_s[window]!,
      rms_dps: orNull(found.rms_dps[window]),
      bias_dps: orNull(found.bias_dps[window]),
    })),
    lag: Array.from(found.lagT_s, (t_s, window) => ({ t_s, lag_ms: orNull(found.lag_ms[window]) })),
    windows,
    reason: null,
    method,
  }
}

function axisOf(axis: Axis, found: AxisFrequency, demand: ResponseByDemand): Omit<ReportedAxis, 'signals'> {
  const { response, loop, budget, spectrum, filter, lag, overTime } = found
  return {
    axis,
    step: stepOf(response),
    byDemand: { split_dps: demand.split_dps, small: stepOf(demand.small), large: stepOf(demand.large) },
    gyroFilters: {
      delay: reported(filter.kind === 'refused' ? filter : filter.delay, FILTER_METHOD),
      corner: reported(filter.kind === 'refused' ? filter : filter.corner, FILTER_METHOD),
    },
    closedLoop: {
      bandwidth: reported('kind' in loop ? loop : loop.bandwidth, CLOSED_LOOP_METHOD),
      resonance: reported('kind' in loop ? loop : loop.resonance_db, CLOSED_LOOP_METHOD),
      resonanceAt: reported('kind' in loop ? loop : loop.resonance_hz, CLOSED_LOOP_METHOD),
      phaseDelay: reported('kind' in loop ? loop : loop.phaseDelay, CLOSED_LOOP_METHOD),
      lastCoherent_hz: 'kind' in loop ? null : loop.lastCoherent_hz,
    },
    lag: {
      byCorrelation: reported(lag.lag, LAG_METHOD),
      byPhase: reported(lag.byPhase, LAG_METHOD),
    },
    overTime: overTimeOf(overTime),
    errorBudget:
      budget.kind === 'refused'
        ? {
            parts: null,
            total: null,
            unit: '(deg/s)^2',
            reason: budget.reason,
            ...basisOf(budget),
            method: { ...BUDGET_METHOD },
          }
        : {
            parts: { ...budget.parts },
            total: budget.total,
            unit: budget.unit,
            reason: null,
            ...basisOf(budget),
            method: { ...BUDGET_METHOD },
          },
    lines:
      'kind' in spectrum
        ? []
        : findLines(spectrum, LINES_FROM_HZ)
            .slice(0, MOST_LINES)
            .map(({ f_hz, level_db, prominence_db }) => ({ f_hz, level_db, prominence_db })),
  }
}
type FlightResponse = NonNullable<Report['response']>['a']
type ReportedAxis = FlightResponse['axes'][number]

function reported(result: Result<number> | Refused, method: Method): ReportedResult {
  const { samples, segments, cautions, exclusions } = result
  const basis = {
    method: { ...(result.method ?? method) },
    samples,
    segments,
    cautions: [...cautions],
    exclusions: exclusions.map(({ what, share }) => ({ what, share })),
  }
  if (result.kind === 'refused')
    return { value: null, unit: null, interval: null, reason: result.reason, ...basis }
  const { value, unit, interval } = result
  return { value, unit, interval: interval ? { ...interval } : null, reason: null, ...basis }
}
