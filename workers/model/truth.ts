import { perAxis, type PerAxis } from '../flight/axes.ts'
import type { Craft } from './craft.ts'
import type { Knock, WashSpan } from './disturbance.ts'
import type { FlightRecord, FlightSetup } from './flight.ts'
import { hoverPoint, linearPlant, linearStep, type LinearPlant, type OperatingPoint } from './linear.ts'
import type { Link } from './link.ts'
import type { FlownManoeuvre } from './manoeuvre.ts'
import type { PilotStyle } from './pilot.ts'
import { stepFigures, type StepFigures } from './step-figures.ts'
import type { Tune } from './tune.ts'

/** What is known about a simulated flight for certain; lies beside its log as JSON. */
export interface Truth {
  readonly format: 1
  readonly scenario: string
  readonly flight: string
  readonly seed: number
  readonly duration_s: number
  readonly logRate_hz: number
  readonly craft: Craft
  readonly tune: Tune
  readonly pilot: PilotStyle
  readonly link: Link
  readonly air: { readonly wind_mps: number; readonly turbulence_mps: number; readonly wash: number }
  readonly manoeuvres: readonly FlownManoeuvre[]
  readonly knocks: readonly Knock[]
  readonly washSpans: readonly WashSpan[]
  readonly saturation: {
    readonly spans: readonly { readonly start_s: number; readonly end_s: number }[]
    readonly share: number
  }
  /** Where the craft was linearised, and the closed loop there per axis. */
  readonly linear: { readonly point: OperatingPoint; readonly axes: PerAxis<AxisTruth> }
}

export interface AxisTruth {
  readonly plant: LinearPlant
  /** Of the filtered gyro, as logged, to a unit step of the setpoint. */
  readonly figures: StepFigures
  /** The step response itself, every `every_s` from 0 on. */
  readonly step: { readonly every_s: number; readonly gyro: readonly number[] }
}

export const TRUTH_STEP_S = 0.5
const TRUTH_EVERY_S = 0.001

/** Gathers the truth of a flight. */
export function truthOf(scenario: string, flight: string, setup: FlightSetup, record: FlightRecord): Truth {
  const point = hoverPoint(setup.craft)
  const duration_s = record.rows > 0 ? record.t_s[record.rows - 1]! : 0
  const spent = record.saturated.reduce((sum, span) => sum + span.end_s - span.start_s, 0)
  return {
    format: 1,
    scenario,
    flight,
    seed: setup.seed,
    duration_s,
    logRate_hz: setup.logRate_hz,
    craft: setup.craft,
    tune: setup.tune,
    pilot: setup.pilot,
    link: setup.link,
    air: { ...setup.weather, wash: setup.trouble.wash },
    manoeuvres: record.manoeuvres,
    knocks: record.knocks,
    washSpans: record.washSpans,
    saturation: { spans: record.saturated, share: duration_s > 0 ? spent / duration_s : 0 },
    linear: {
      point,
      axes: perAxis((axis) => {
        const plant = linearPlant(setup.craft, axis, point, setup.rate_hz)
        const response = linearStep(setup.tune, axis, plant, setup.rate_hz, 2)
        const stride = Math.round(TRUTH_EVERY_S * setup.rate_hz)
        const gyro = Array.from({ length: Math.round(TRUTH_STEP_S / TRUTH_EVERY_S) + 1 }, (_, index) =>
          Number(response.gyro[index * stride]!.toFixed(6)),
        )
        return {
          plant,
          figures: stepFigures(response.gyro, setup.rate_hz),
          step: { every_s: TRUTH_EVERY_S, gyro },
        }
      }),
    },
  }
}
