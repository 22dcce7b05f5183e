import type { Axis } from '../flight/axes.ts'
import { motorChannels, type ChannelName, type FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { motorLimits, type MotorLimits } from '../response/headroom.ts'
import { isEven, lag, type Lag, type LagRefusal } from '../response/lag.ts'
import { withSlow } from '../response/slow-series.ts'
import type { ResponseSeries } from '../response/response-series.ts'
import { isWhole, runsBetween, runsOf, type Run } from '../signal/segments.ts'
import { sortByThrottle, type ThrottleSort } from '../signal/noise-map.ts'
import { clockBreaks } from '../signal/clock-breaks.ts'

/** A span of a flight, with what every analysis of it asks for. */
export interface FlightPart {
  /** Rows from..to (not included). */
  readonly from: number
  readonly to: number
  /** Rows, counted from `from`, before which the clock has a gap. */
  readonly breaks: Int32Array
  /** Where motors stand at their limits; null when none are logged. */
  readonly limits: MotorLimits | null
  /** A channel's samples in the span; undefined when it is not logged. */
  samples(name: ChannelName): Float32Array | undefined
  /** Is every sample of a logged channel finite? */
  isWhole(name: ChannelName): boolean
  /** Stretches in which the channels, all of them logged, are finite and the clock has no gap; see `runsOf`. */
  runs(names: readonly ChannelName[]): readonly Run[]
  /** Segments of such stretches sorted by throttle, which must be logged. */
  sorted(runs: readonly Run[], segment: number): ThrottleSort
  /** Setpoint and gyro of an axis, without the motors' limits; both must be logged. */
  series(axis: Axis): ResponseSeries
  /** Delay of the gyro behind the setpoint; both must be logged. */
  lag(axis: Axis): Lag | LagRefusal
}

interface Known {
  readonly t0_s: number
  readonly t1_s: number
  readonly part: FlightPart
}

/** The last span asked for of each flight: analyses of several axes ask for the same one. */
const known = new WeakMap<FlightSignals, Known>()

/** The rows of t0_s..t1_s of the flight's own clock, both ends included. Gaps and limits are looked for once a span. */
export function flightPart(signals: FlightSignals, t0_s: number, t1_s: number): FlightPart {
  const last = known.get(signals)
  if (last && last.t0_s === t0_s && last.t1_s === t1_s) return last.part
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = Math.max(from, firstAfter(signals.t_s, t1_s))
  const samples = (name: ChannelName) => signals.channels[name]?.subarray(from, to)
  let limits: MotorLimits | null | undefined
  let breaks: Int32Array | undefined
  let even: boolean | undefined
  const lags = new Map<Axis, Lag | LagRefusal>()
  const pairs = new Map<Axis, ResponseSeries>()
  const whole = new Map<ChannelName, boolean>()
  const sorts = new Map<string, ThrottleSort>()
  let unbroken: readonly Run[] | undefined
  const isChannelWhole = (name: ChannelName): boolean => {
    const known = whole.get(name) ?? isWhole(samples(name)!)
    whole.set(name, known)
    return known
  }
  const part: FlightPart = {
    from,
    to,
    get breaks() {
      return (breaks ??= clockBreaks(signals.t_s.subarray(from, to)))
    },
    get limits() {
      if (limits === undefined) {
        const motors = motorChannels(signals).map((name) => samples(name)!)
        limits = motors.length > 0 ? motorLimits(motors) : null
      }
      return limits
    },
    samples,
    isWhole: isChannelWhole,
    runs(names) {
      if (!names.every(isChannelWhole)) {
        return runsOf(
          names.map((name) => samples(name)!),
          part.breaks,
        )
      }
      return (unbroken ??= runsBetween(to - from, part.breaks))
    },
    sorted(runs, segment) {
      const name = `${segment}: ${runs.map(({ start, end }) => `${start}-${end}`).join(' ')}`
      const known = sorts.get(name) ?? sortByThrottle(samples('throttle')!, runs, segment)
      sorts.set(name, known)
      return known
    },
    series(axis) {
      const known = pairs.get(axis)
      if (known) return known
      const series = withSlow(
        {
          setpoint: samples(`setpoint.${axis}`)!,
          gyro: samples(`gyro.${axis}`)!,
          rate_hz: signals.rate_hz,
          breaks: part.breaks,
        },
        () => part.runs([`setpoint.${axis}`, `gyro.${axis}`]),
      )
      pairs.set(axis, series)
      return series
    },
    lag(axis) {
      const known = lags.get(axis)
      if (known) return known
      const { setpoint, gyro, rate_hz, slow } = part.series(axis)
      const t_s = signals.t_s.subarray(from, to)
      const found = lag(setpoint, gyro, {
        rate_hz,
        t_s,
        even: (even ??= isEven(t_s)),
        whole: isChannelWhole(`setpoint.${axis}`) && isChannelWhole(`gyro.${axis}`),
        ...(slow ? { slow } : {}),
      })
      lags.set(axis, found)
      return found
    },
  }
  known.set(signals, { t0_s, t1_s, part })
  return part
}
