import { AXES } from '../flight/axes.ts'
import { speedChannels, type FlightSignals } from '../flight/signals.ts'
import { firstAfter, firstAtOrAfter } from '../reduce/reduce.ts'
import { folded_hz } from '../signal/motor-lines.ts'
import { THROTTLE_BINS } from '../signal/noise-map.ts'
import { refused, type Refused } from '../signal/result.ts'
import { checkDivisor } from '../signal/rotor-speeds.ts'
import { rotorLineByThrottle, type RotorLineByThrottle } from './rotor-line.ts'

/** What the pilot, or the settings sheet, says of a craft's propellers and motors; null: not said. */
export interface RotorFacts {
  readonly blades: number | null
  readonly polePairs: number | null
}

/** Where one line of the rotors lies. */
export interface OverlayLine {
  readonly name: string
  /** As it is in the air: the middle and the middle nine tenths of all motors while flying, Hz. */
  readonly f_hz: number
  readonly low_hz: number
  readonly high_hz: number
  /** As a log of this rate shows the middle. */
  readonly shown_hz: number
  readonly folded: boolean
  /** Per throttle bin of the map, as the log shows it; NaN where nothing was flown. */
  readonly byThrottle_hz: Float64Array
}

export interface RotorOverlay {
  readonly kind: 'given'
  /** From logged speeds, or from the spectrum's own strongest line that rises with throttle. */
  readonly from: 'logged' | 'found'
  /** How that was decided, for the pilot. */
  readonly sentence: string
  /** What logged speeds were divided by; null when none are logged. */
  readonly polePairs: number | null
  readonly lines: readonly OverlayLine[]
  /** The rotor's speed by throttle, as it is in the air; null where speeds are logged. */
  readonly byThrottle: RotorLineByThrottle | null
  readonly cautions: readonly string[]
}

export const ROTOR_METHOD = { id: 'rotor-lines', version: 2 }
/** Taken when nothing tells otherwise: fourteen magnets are common in small craft. Common practice, no source. */
const USUAL_POLE_PAIRS = 7
const LIKELY_POLE_PAIRS = [4, 5, 6, 7, 8, 9, 10, 11, 12, 14] as const
/** Rows whose speeds are looked at: enough for a median. */
const SPEEDS_LOOKED_AT = 3000
/** Rotors slower than this are not flying. */
const LEAST_HZ = 20

/**
 * Lines of rotors and blades over t0_s..t1_s of the flight's own clock: from logged motor speeds, electrical ones divided by
 * the pole pairs that are given, else by the number that brings them onto the gyro's own lines; else found in the noise
 * by throttle, marked so. Frequencies are folded at half the log's rate.
 */
export function rotorOverlay(
  signals: FlightSignals,
  t0_s: number,
  t1_s: number,
  facts: RotorFacts,
): RotorOverlay | Refused {
  const from = firstAtOrAfter(signals.t_s, t0_s)
  const to = firstAfter(signals.t_s, t1_s)
  const speeds = speedChannels(signals).map((name) => signals.channels[name]!.subarray(from, to))
  return speeds.length > 0 && to > from
    ? fromSpeeds(signals, speeds, from, to, facts)
    : fromNoise(signals, t0_s, t1_s, facts)
}

function fromSpeeds(
  signals: FlightSignals,
  speeds: readonly Float32Array[],
  from: number,
  to: number,
  facts: RotorFacts,
): RotorOverlay | Refused {
  const { divisor, sentence, cautions } = divisorOf(signals, speeds, from, to, facts)
  const { rate_hz } = signals
  const stride = Math.max(1, Math.floor((to - from) / SPEEDS_LOOKED_AT))
  const throttle = signals.channels.throttle?.subarray(from, to)
  const binOf = throttle ? lookedAt(throttle, stride).map(binOfThrottle) : null
  const turns = speeds.map((speed) => lookedAt(speed, stride).map((rpm) => rpm / 60 / divisor))
  const ordered = flownOf(turns)
  if (ordered.length < 20)
    return refused('The logged motor speeds show no motor turning.', { method: ROTOR_METHOD })
  const at = (share: number) => ordered[Math.floor(share * (ordered.length - 1))]!
  const turn = { middle: at(0.5), low: at(0.05), high: at(0.95) }
  const perBin = new Float64Array(THROTTLE_BINS).fill(NaN)
  if (binOf) {
    for (let bin = 0; bin < THROTTLE_BINS; bin++) {
      const own = flownOf(turns, binOf, bin)
      if (own.length >= 8) perBin[bin] = own[own.length >> 1]!
    }
  }
  return {
    kind: 'given',
    from: 'logged',
    sentence,
    polePairs: divisor,
    cautions,
    byThrottle: null,
    lines: harmonics(facts).map(({ name, factor }) => line(name, factor, turn, perBin, rate_hz)),
  }
}

/** Every so many of the samples, in 64 bits. */
function lookedAt(samples: Float32Array, stride: number): Float64Array {
  const few = new Float64Array(Math.ceil(samples.length / stride))
  for (let k = 0; k < few.length; k++) few[k] = samples[k * stride]!
  return few
}

const binOfThrottle = (throttle: number): number =>
  Math.min(THROTTLE_BINS - 1, Math.floor(throttle * THROTTLE_BINS))

/** The motors' turns while flying, in order; those of one throttle bin when it is given. */
function flownOf(turns_hz: readonly Float64Array[], binOf?: Float64Array, bin?: number): Float64Array {
  const flown = new Float64Array(turns_hz.reduce((sum, { length }) => sum + length, 0))
  let count = 0
  for (const own of turns_hz) {
    for (let k = 0; k < own.length; k++)
      if (own[k]! > LEAST_HZ && (!binOf || binOf[k] === bin)) flown[count++] = own[k]!
  }
  return flown.subarray(0, count).sort()
}

function fromNoise(
  signals: FlightSignals,
  t0_s: number,
  t1_s: number,
  facts: RotorFacts,
): RotorOverlay | Refused {
  const { rate_hz } = signals
  const found = rotorLineByThrottle(signals, t0_s, t1_s)
  if (typeof found === 'string')
    return refused(`No motor speeds are logged, and ${found}`, { method: ROTOR_METHOD })
  const turn = {
    middle: median(Array.from(found.f_hz)),
    low: Math.min(...found.f_hz),
    high: Math.max(...found.f_hz),
  }
  return {
    kind: 'given',
    from: 'found',
    sentence: `No motor speeds are logged: the strongest line that rises with throttle was taken for the rotors’ (${found.prominence_db.toFixed(0)} dB over its surroundings).`,
    polePairs: null,
    cautions: ['Which line it is can not be told: it may be the blades’, or folded at half the rate.'],
    byThrottle: found,
    lines: harmonics(facts).map(({ name, factor }) => line(name, factor, turn, found.byBin_hz, rate_hz)),
  }
}

interface Divisor {
  readonly divisor: number
  readonly sentence: string
  readonly cautions: readonly string[]
}

function divisorOf(
  signals: FlightSignals,
  speeds: readonly Float32Array[],
  from: number,
  to: number,
  { polePairs }: RotorFacts,
): Divisor {
  const electrical = signals.electricalSpeeds === true
  const check = ownLines(
    signals,
    speeds,
    from,
    to,
    electrical ? LIKELY_POLE_PAIRS : [1, ...LIKELY_POLE_PAIRS],
  )
  const fit = check ? ` (${check.prominence_db.toFixed(0)} dB over their surroundings)` : ''
  if (!electrical) {
    const doubtful = check !== null && check.divisor !== 1
    return {
      divisor: 1,
      sentence:
        check?.divisor === 1
          ? `From the logged motor speeds; the gyro’s own lines lie there, too${fit}.`
          : 'From the logged motor speeds.',
      cautions: doubtful
        ? [
            `The gyro’s lines fit these speeds divided by ${check.divisor}: they may be electrical. Put the unit right in the flight’s columns.`,
          ]
        : [],
    }
  }
  if (polePairs !== null) {
    const other = check !== null && check.divisor !== polePairs
    return {
      divisor: polePairs,
      sentence: `From the logged electrical speeds, divided by ${polePairs} pole pairs as given.`,
      cautions: other ? [`The gyro’s lines fit ${check.divisor} pole pairs better than ${polePairs}.`] : [],
    }
  }
  if (check)
    return {
      divisor: check.divisor,
      sentence: `From the logged electrical speeds, divided by ${check.divisor} pole pairs: the gyro’s own lines lie there${fit}.`,
      cautions: [],
    }
  return {
    divisor: USUAL_POLE_PAIRS,
    sentence: `From the logged electrical speeds, divided by ${USUAL_POLE_PAIRS} pole pairs.`,
    cautions: [
      `Nothing tells the number of pole pairs: ${USUAL_POLE_PAIRS} is a guess. Count the magnets and halve them.`,
    ],
  }
}

function ownLines(
  signals: FlightSignals,
  speeds: readonly Float32Array[],
  from: number,
  to: number,
  divisors: readonly number[],
) {
  // The axis that hears the motors best is not known beforehand: the first that tells.
  for (const axis of AXES) {
    const gyro = (signals.channels[`unfiltered.${axis}`] ?? signals.channels[`gyro.${axis}`])?.subarray(
      from,
      to,
    )
    if (!gyro) continue
    const check = checkDivisor({ gyro, speeds_rpm: speeds, rate_hz: signals.rate_hz, divisors })
    if (check) return check
  }
  return null
}

interface Harmonic {
  readonly name: string
  readonly factor: number
}

function harmonics({ blades }: RotorFacts): Harmonic[] {
  const own = [
    { name: 'rotor', factor: 1 },
    { name: 'rotor ×2', factor: 2 },
  ]
  return blades === null || blades === 2
    ? [own[0]!, blades === 2 ? { name: 'blade pass (2)', factor: 2 } : own[1]!]
    : [...own, { name: `blade pass (${blades})`, factor: blades }]
}

function line(
  name: string,
  factor: number,
  turn: { readonly middle: number; readonly low: number; readonly high: number },
  perBin: Float64Array,
  rate_hz: number,
): OverlayLine {
  const f_hz = factor * turn.middle
  return {
    name,
    f_hz,
    low_hz: factor * turn.low,
    high_hz: factor * turn.high,
    shown_hz: folded_hz(f_hz, rate_hz),
    folded: f_hz > rate_hz / 2,
    byThrottle_hz: perBin.map((value) => (Number.isNaN(value) ? NaN : folded_hz(factor * value, rate_hz))),
  }
}

function median(values: readonly number[]): number {
  const ordered = Float64Array.from(values).sort()
  return ordered[ordered.length >> 1] ?? NaN
}
