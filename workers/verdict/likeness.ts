import type { Manoeuvre, ManoeuvreKind } from '../manoeuvre/manoeuvre.ts'
import { mean, median, standardDeviation } from '../statistics/moments.ts'

/** One input that manoeuvres are told alike by. */
export interface InputFacts {
  readonly name: string
  readonly unit: string
  readonly of: (manoeuvre: Manoeuvre) => number
  /** Compared as ratios (logarithms) or as differences. */
  readonly ratio: boolean
  /** Differences up to this are alike whatever the spread: a share for ratios, else in the unit (common practice, no source). */
  readonly alike: number
}

const input = (
  name: string,
  unit: string,
  of: (manoeuvre: Manoeuvre) => number,
  alike: number,
  ratio = true,
): InputFacts => ({ name, unit, of, ratio, alike })

const PEAK = input('peak rate', 'deg/s', ({ inputs }) => inputs.peak_dps ?? NaN, 0.12)
const SNAP = input('snap', 'deg/s²', ({ inputs }) => inputs.snap_dps2 ?? NaN, 0.35)
const DURATION = input('duration', 's', ({ inputs }) => inputs.duration_s, 0.3)
/** Throttle over the flight's own usual one, so that another prop or motor limit still finds its like. */
const THROTTLE = input('throttle over usual', '', ({ inputs }) => inputs.load ?? NaN, 0.3)
const STEP = input(
  'throttle step over usual',
  '',
  ({ inputs }) => (Math.abs(inputs.step ?? NaN) * (inputs.load ?? NaN)) / (inputs.throttle ?? NaN),
  0.3,
)
/** Under load, over the quarter second after the stop: a sagging battery makes a weaker craft. */
const VOLTAGE = input('battery voltage', 'V', ({ inputs }) => inputs.voltage_V ?? NaN, 0.03)

/** What each kind is told alike by. Never anything that the gyro shows. */
export function inputsOf(kind: ManoeuvreKind): readonly InputFacts[] {
  switch (kind) {
    case 'turn':
    case 'snap':
    case 'swing':
      return [PEAK, SNAP, DURATION, THROTTLE, VOLTAGE]
    case 'wash':
    case 'punch':
    case 'chop':
      return [STEP, THROTTLE, VOLTAGE]
    case 'hover':
      return [THROTTLE, VOLTAGE]
    case 'sweep':
      return [PEAK, DURATION, THROTTLE, VOLTAGE]
  }
}

/** An input as it is compared; NaN where it is not known. */
export function scaleOf(facts: InputFacts, manoeuvre: Manoeuvre): number {
  const value = facts.of(manoeuvre)
  return facts.ratio ? (value > 0 ? Math.log(value) : NaN) : value
}

/** Share of a standard deviation that two alike manoeuvres may lie apart (Austin 2011 [from memory]). */
export const CALIPER_SD = 0.2

/** Batteries whose usual voltages differ by more than this share are of another kind, not emptier (common practice, no source). */
const OTHER_BATTERY = 0.25

/**
 * The inputs of a kind that both flights can be compared by: known for every manoeuvre, and for the battery's voltage of
 * the same kind of battery, since between unlike ones no manoeuvre has its like.
 */
export function sharedInputs(
  kind: ManoeuvreKind,
  a: readonly Manoeuvre[],
  b: readonly Manoeuvre[],
): readonly InputFacts[] {
  return inputsOf(kind).filter((facts) => {
    const own = a.map((one) => scaleOf(facts, one))
    const other = b.map((one) => scaleOf(facts, one))
    if ([...own, ...other].some(Number.isNaN)) return false
    return facts !== VOLTAGE || Math.abs(median(other) - median(own)) <= Math.log(1 + OTHER_BATTERY)
  })
}

/** Inputs of the flights' manoeuvres that took no part in pairing, with the reason for the pilot. */
export function notCompared(
  a: readonly Manoeuvre[],
  b: readonly Manoeuvre[],
): { readonly input: string; readonly reason: string }[] {
  if (a.length === 0 || b.length === 0) return []
  const lacking = (of: InputFacts['of'], list: readonly Manoeuvre[]) =>
    list.some((one) => !Number.isFinite(of(one)))
  return [THROTTLE, VOLTAGE].flatMap((facts) => {
    const { name } = facts
    const missing = [...(lacking(facts.of, a) ? ['A'] : []), ...(lacking(facts.of, b) ? ['B'] : [])]
    const what = facts === VOLTAGE ? 'battery voltage' : 'throttle'
    if (missing.length === 2)
      return [
        { input: name, reason: `Neither log holds the ${what} throughout: it took no part in pairing.` },
      ]
    if (missing.length === 1)
      return [
        {
          input: name,
          reason: `The log of ${missing[0]!} does not hold the ${what} throughout: it took no part in pairing.`,
        },
      ]
    if (facts !== VOLTAGE || sharedInputs('hover', a, b).includes(VOLTAGE)) return []
    const usual = (list: readonly Manoeuvre[]) => median(list.map(facts.of)).toFixed(1)
    return [
      {
        input: name,
        reason: `The batteries are of another kind (A usually ${usual(a)} V, B ${usual(b)} V): voltage took no part in pairing, and what it changes can't be told from what you changed.`,
      },
    ]
  })
}

/** How far apart two manoeuvres of a kind may be flown, per input. */
export interface Tolerance {
  readonly facts: InputFacts
  readonly width: number
}

/**
 * The caliper of a kind: per input 0.2 standard deviations of how it was flown within the flights, but never tighter than
 * the difference that makes none. An input that is missing in either flight is left out.
 */
export function tolerancesOf(a: readonly Manoeuvre[], b: readonly Manoeuvre[]): Tolerance[] {
  const kind = (a[0] ?? b[0])?.kind
  if (kind === undefined) return []
  return sharedInputs(kind, a, b).map((facts) => {
    const own = a.map((one) => scaleOf(facts, one))
    const other = b.map((one) => scaleOf(facts, one))
    const alike = facts.ratio ? Math.log(1 + facts.alike) : facts.alike
    const sd = Math.max(within(own), within(other))
    return { facts, width: Math.max(alike, CALIPER_SD * sd) }
  })
}

const within = (values: readonly number[]) => (values.length > 1 ? standardDeviation(values) : 0)

/** One input alone may differ by this many tolerances where the others agree. */
const ALONE = 1.5

/**
 * How differently two manoeuvres were flown: the root mean square of their inputs' differences in units of the tolerance, or
 * the largest of them over 1.5 where that is more. 0 flown the same, above 1 too different to pair.
 */
export function distanceBetween(tolerances: readonly Tolerance[], a: Manoeuvre, b: Manoeuvre): number {
  if (tolerances.length === 0) return 0
  const apart = tolerances.map(({ facts, width }) => Math.abs(scaleOf(facts, b) - scaleOf(facts, a)) / width)
  const rms = Math.sqrt(mean(apart.map((one) => one * one)))
  return Math.max(rms, Math.max(...apart) / ALONE)
}

/** The input in which two manoeuvres differ most, and by how much in words. */
export function largestDifference(tolerances: readonly Tolerance[], a: Manoeuvre, b: Manoeuvre): string {
  let words = 'flown the same'
  let largest = 0
  for (const { facts, width } of tolerances) {
    const apart = scaleOf(facts, b) - scaleOf(facts, a)
    if (Math.abs(apart) / width <= largest) continue
    largest = Math.abs(apart) / width
    words = facts.ratio
      ? `${facts.name} ${percent(Math.exp(Math.abs(apart)) - 1)} apart`
      : `${facts.name} ${percent(Math.abs(apart))} of full apart`
  }
  return words
}

const percent = (share: number) => `${(100 * share).toFixed(0)} %`
