import type { Axis } from '../flight/axes.ts'
import { inStretches } from '../signal/stretches.ts'
import { motorChannels, type ChannelName, type FlightSignals } from '../flight/signals.ts'

/** What the frequency screen can show of a flight; 'motors' are all of them together. */
export const SHOWN_SIGNALS = [
  'gyro',
  'unfiltered',
  'setpoint',
  'error',
  'pTerm',
  'iTerm',
  'dTerm',
  'feedForward',
  'motors',
] as const
export type ShownSignal = (typeof SHOWN_SIGNALS)[number]

/** A signal's name, and the unit of its samples. */
export const SIGNAL_WORDS: Readonly<Record<ShownSignal, { readonly words: string; readonly unit: string }>> =
  {
    gyro: { words: 'Gyro', unit: 'deg/s' },
    unfiltered: { words: 'Unfiltered gyro', unit: 'deg/s' },
    setpoint: { words: 'Setpoint', unit: 'deg/s' },
    error: { words: 'Setpoint minus gyro', unit: 'deg/s' },
    pTerm: { words: 'P-term', unit: 'as logged' },
    iTerm: { words: 'I-term', unit: 'as logged' },
    dTerm: { words: 'D-term', unit: 'as logged' },
    feedForward: { words: 'Feed-forward', unit: 'as logged' },
    motors: { words: 'Motors', unit: 'full' },
  }

/** The logged channels that a signal is made of. */
export function channelsOf(signals: FlightSignals, signal: ShownSignal, axis: Axis): ChannelName[] {
  if (signal === 'motors') return motorChannels(signals)
  const own: ChannelName = `${signal}.${axis}`
  return signals.channels[own] ? [own] : []
}

/** Setpoint minus gyro, sample by sample, written to `error`; all of equal length. */
export function errorOf(
  setpoint: Float32Array,
  gyro: Float32Array,
  error: Float32Array = new Float32Array(setpoint.length),
): Float32Array {
  inStretches(setpoint.length, (from, to) => subtract(setpoint, gyro, error, from, to))
  return error
}

function subtract(a: Float32Array, b: Float32Array, into: Float32Array, from: number, to: number): void {
  for (let n = from; n < to; n++) into[n] = a[n]! - b[n]!
}

/** A signal's samples in a range of rows, one array per motor for motors; a sentence where the log has none. */
export function samplesOf(
  signals: FlightSignals,
  signal: ShownSignal,
  axis: Axis,
  from: number,
  to: number,
): Float32Array[] | string {
  const found = channelsOf(signals, signal, axis).map((name) => signals.channels[name]!.subarray(from, to))
  if (found.length > 0) return found
  if (signal === 'error') {
    const setpoint = signals.channels[`setpoint.${axis}`]
    const gyro = signals.channels[`gyro.${axis}`]
    if (!setpoint || !gyro) return 'Setpoint minus gyro needs both; the log does not hold them for this axis.'
    return [errorOf(setpoint.subarray(from, to), gyro.subarray(from, to))]
  }
  const { words } = SIGNAL_WORDS[signal]
  const name = /^[PDI]-/.test(words) ? words : words.toLowerCase()
  return signal === 'motors' ? 'The log holds no motors.' : `The log holds no ${name} for this axis.`
}
