import { perAxis, type PerAxis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { toUniform } from '../signal/resample.ts'
import { median } from '../statistics/moments.ts'

/** What the hands asked for, on an even clock. The gyro has no place here. */
export interface Commands {
  readonly rate_hz: number
  /** deg/s; null where neither setpoint nor stick is logged. NaN in gaps. */
  readonly setpoint: PerAxis<Float32Array | null>
  /** True where the setpoint was not logged and stands for the stick, full stick as FULL_STICK_DPS. */
  readonly fromStick: PerAxis<boolean>
  /** 0..1 */
  readonly throttle: Float32Array | null
  /** Median of the throttle while it is open: about what the craft hovers at. NaN without a throttle. */
  readonly usualThrottle: number
  /** Of the battery; null where it is not logged. */
  readonly voltage_V: Float32Array | null
}

/** Hands move below 20 Hz: this is fine enough, and the same for every log. */
export const COMMANDS_HZ = 200
/** A round figure for the rate at full stick where only sticks are logged (common practice, no source). */
export const FULL_STICK_DPS = 600

/** Throttle above this is open. */
const OPEN = 0.02

/** Brings a flight's commands to an even 200 Hz that starts at the flight's first sample. */
export function commandsOf(signals: FlightSignals): Commands {
  const even = (samples: ArrayLike<number>) =>
    toUniform(signals.t_s, samples, { rate_hz: COMMANDS_HZ, from_s: signals.t_s[0] ?? 0 }).samples
  const { channels } = signals
  const ofAxis = perAxis((axis) => {
    const setpoint = channels[`setpoint.${axis}`]
    if (setpoint) return { samples: even(setpoint), fromStick: false }
    const stick = channels[`stick.${axis}`]
    if (!stick) return { samples: null, fromStick: false }
    return { samples: even(stick.map((share) => share * FULL_STICK_DPS)), fromStick: true }
  })
  const throttle = channels.throttle ? even(channels.throttle) : null
  return {
    rate_hz: COMMANDS_HZ,
    setpoint: perAxis((axis) => ofAxis[axis].samples),
    fromStick: perAxis((axis) => ofAxis[axis].fromStick),
    throttle,
    usualThrottle: throttle ? median(throttle.filter((value) => value > OPEN)) : NaN,
    voltage_V: channels.battery ? even(channels.battery) : null,
  }
}

/** Mean of the finite samples of from..to (not included); NaN without any. */
export function meanOver(samples: ArrayLike<number> | null, from: number, to: number): number {
  if (!samples) return NaN
  let sum = 0
  let count = 0
  for (let n = Math.max(0, from); n < Math.min(to, samples.length); n++) {
    if (!Number.isFinite(samples[n]!)) continue
    sum += samples[n]!
    count++
  }
  return count > 0 ? sum / count : NaN
}
