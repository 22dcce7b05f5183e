import { perAxis, type Axis, type PerAxis } from '../flight/axes.ts'
import {
  bandwidth_hz,
  frequencyResponse,
  slowDelay_s,
  TRUTH_F_HZ,
  type FrequencyResponse,
} from './closed-loop.ts'
import type { Knock, WashSpan } from './disturbance.ts'
import type { FlightRecord, FlightSetup } from './flight.ts'
import { hoverPoint, linearPlant, linearStep, type LinearPlant, type OperatingPoint } from './linear.ts'
import type { FlownManoeuvre } from './manoeuvre.ts'
import { totalTime_s, type Span } from './spans.ts'
import { stepFigures, type StepFigures } from '../response/step-figures.ts'

/** What is known about a simulated flight for certain; lies beside its log as JSON. Times count from the first row. */
export interface Truth {
  readonly format: 1
  readonly scenario: string
  readonly flight: string
  /** Everything that decided the flight: airframe, tune, pilot, orders, weather, link, noise, rates, seed. */
  readonly setup: FlightSetup
  readonly rows: number
  readonly duration_s: number
  readonly manoeuvres: readonly FlownManoeuvre[]
  readonly knocks: readonly Knock[]
  readonly washSpans: readonly WashSpan[]
  readonly saturation: {
    /** The demand did not fit into the motors' range. */
    readonly spans: readonly Span[]
    readonly share: number
    /** Any motor at its highest, or at its lowest, command off the ground. */
    readonly atTop: readonly Span[]
    readonly atTopShare: number
    readonly atIdle: readonly Span[]
    readonly atIdleShare: number
  }
  readonly linear: LinearTruth
}

/**
 * The linear closed loop without noise or limits, round a level hover at nominal voltage. A craft with
 * 'propeller' thrust has more loop gain at higher throttle and voltage; one with 'linear' thrust answers like
 * this wherever its motors are off their limits.
 */
export interface LinearTruth {
  readonly point: OperatingPoint
  readonly axes: PerAxis<AxisTruth>
}

export interface AxisTruth {
  readonly plant: LinearPlant
  /** Of the filtered gyro, as logged, to a unit step of the setpoint. */
  readonly figures: StepFigures & {
    /** Where the response has gone to at the end of what the figures were read from. */
    readonly final: number
  }
  /** The step response itself, every `every_s` from 0 on. */
  readonly step: { readonly every_s: number; readonly gyro: readonly number[] }
  readonly frequency: FrequencyResponse
  readonly bandwidth_hz: number | null
  /** How late the gyro follows slow movements of the setpoint, s. */
  readonly slowDelay_s: number
}

/** The step response is given over this time, so often; its figures come from a longer one. */
export const TRUTH_STEP_S = 0.5
const TRUTH_EVERY_S = 0.001
const LONG_STEP_S = 3

/** Gathers the truth of a flight. */
export function truthOf(scenario: string, flight: string, setup: FlightSetup, record: FlightRecord): Truth {
  const duration_s = record.rows > 0 ? record.t_s[record.rows - 1]! : 0
  const share = (spans: readonly Span[]) => (duration_s > 0 ? totalTime_s(spans) / duration_s : 0)
  return {
    format: 1,
    scenario,
    flight,
    setup,
    rows: record.rows,
    duration_s,
    manoeuvres: record.manoeuvres,
    knocks: record.knocks,
    washSpans: record.washSpans,
    saturation: {
      spans: record.saturated,
      share: share(record.saturated),
      atTop: record.atTop,
      atTopShare: share(record.atTop),
      atIdle: record.atIdle,
      atIdleShare: share(record.atIdle),
    },
    linear: linearTruth(setup),
  }
}

/** The linear truth of a setup, without flying it. */
export function linearTruth(setup: Pick<FlightSetup, 'craft' | 'tune' | 'rate_hz'>): LinearTruth {
  const point = hoverPoint(setup.craft)
  return { point, axes: perAxis((axis) => axisTruth(setup, axis, point)) }
}

function axisTruth(
  { craft, tune, rate_hz }: Pick<FlightSetup, 'craft' | 'tune' | 'rate_hz'>,
  axis: Axis,
  point: OperatingPoint,
): AxisTruth {
  const plant = linearPlant(craft, axis, point, rate_hz)
  const response = linearStep(tune, axis, plant, rate_hz, LONG_STEP_S)
  const stride = Math.round(TRUTH_EVERY_S * rate_hz)
  const count = Math.round(TRUTH_STEP_S / TRUTH_EVERY_S) + 1
  const frequency = frequencyResponse(response, TRUTH_F_HZ)
  return {
    plant,
    figures: { ...stepFigures(response.gyro, rate_hz), final: response.gyro.at(-1) ?? NaN },
    step: {
      every_s: TRUTH_EVERY_S,
      gyro: Array.from({ length: count }, (_, index) => round(response.gyro[index * stride]!)),
    },
    frequency: { ...frequency, gain: frequency.gain.map(round), phase_deg: frequency.phase_deg.map(round) },
    bandwidth_hz: bandwidth_hz(frequency),
    slowDelay_s: slowDelay_s(response),
  }
}

/** Six decimals: enough for any check, and a readable file. */
function round(value: number): number {
  return Number(value.toFixed(6))
}
