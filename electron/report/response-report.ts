import { frequencyOf, type AxisFrequency } from '../../workers/comparison/frequency.ts'
import { AXES, type Axis } from '../../workers/flight/axes.ts'
import { motorChannels, type FlightSignals } from '../../workers/flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../../workers/reduce/reduce.ts'
import { BUDGET_METHOD } from '../../workers/response/budget.ts'
import { CLOSED_LOOP_METHOD } from '../../workers/response/closed-loop.ts'
import { headroom, motorLimits } from '../../workers/response/headroom.ts'
import { STEP_METHOD, type StepFigureName } from '../../workers/response/step-response.ts'
import { findLines } from '../../workers/signal/motor-lines.ts'
import type { Method, Refused, Result } from '../../workers/signal/result.ts'
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
  a: FlightSignals,
  b: FlightSignals,
  offset_s: number,
  span: { readonly t0_s: number; readonly t1_s: number },
): NonNullable<Report['response']> {
  const found = AXES.map((axis) => frequencyOf(a, b, offset_s, span.t0_s, span.t1_s, axis))
  return {
    a: {
      axes: found.map(({ axis, a: one }) => axisOf(axis, one)),
      headroom: headroomOf(a, span.t0_s, span.t1_s),
    },
    b: {
      axes: found.map(({ axis, b: one }) => axisOf(axis, one)),
      headroom: headroomOf(b, span.t0_s - offset_s, span.t1_s - offset_s),
    },
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

function axisOf(axis: Axis, found: AxisFrequency): ReportedAxis {
  const { response, loop, budget, spectrum } = found
  return {
    axis,
    step: FIGURES.map((name) => ({
      figure: name.replace(/_.*/, ''),
      ...reported(response.kind === 'refused' ? response : response.figures[name], STEP_METHOD),
    })),
    closedLoop: {
      bandwidth: reported('kind' in loop ? loop : loop.bandwidth, CLOSED_LOOP_METHOD),
      resonance: reported('kind' in loop ? loop : loop.resonance_db, CLOSED_LOOP_METHOD),
      resonanceAt: reported('kind' in loop ? loop : loop.resonance_hz, CLOSED_LOOP_METHOD),
      phaseDelay: reported('kind' in loop ? loop : loop.phaseDelay, CLOSED_LOOP_METHOD),
      lastCoherent_hz: 'kind' in loop ? null : loop.lastCoherent_hz,
    },
    errorBudget:
      budget.kind === 'refused'
        ? { parts: null, total: null, unit: '(deg/s)^2', reason: budget.reason, method: { ...BUDGET_METHOD } }
        : {
            parts: { ...budget.parts },
            total: budget.total,
            unit: '(deg/s)^2',
            reason: null,
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

function headroomOf(signals: FlightSignals, t0_s: number, t1_s: number): FlightResponse['headroom'] {
  const motors = motorChannels(signals).map((name) => signals.channels[name]!)
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = firstAfter(signals.t_s, t1_s)
  const { atTop, atIdle } = headroom(motors.length > 0 ? motorLimits(motors) : null, from, to)
  return { atTop: reported(atTop, atTop.method), atIdle: reported(atIdle, atIdle.method) }
}

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
