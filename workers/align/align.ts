import type { Sureness } from '../columns/roles.ts'
import { meanRate_hz } from '../signal/clock-breaks.ts'
import { parabolaPeak } from '../signal/correlate.ts'
import { evidenceOf, type ChannelPair } from './evidence.ts'
import { onGrid, standardised } from './grid.ts'

/** A channel of a flight; `name` is a role such as 'setpoint.roll', 'stick.pitch', 'throttle' or 'gyro.yaw'. */
export interface AlignChannel {
  readonly name: string
  readonly samples: ArrayLike<number>
}

export interface AlignFlight {
  /** Stamps, not decreasing. */
  readonly t_s: ArrayLike<number>
  readonly channels: readonly AlignChannel[]
}

/** The kinds of channel that flights can be aligned by. */
export type AlignedBy = 'setpoint' | 'stick' | 'throttle' | 'gyro'

export interface Alignment {
  /** Add to B's time and it lies on A's. */
  readonly offset_s: number
  /** Null: nothing in common, the flights' first samples were laid on each other. */
  readonly by: AlignedBy | null
  /** The channel that shows most. */
  readonly channel: string | null
  readonly sure: Sureness | 'none'
  /** Correlation, at the offset, of the channel that shows most; NaN without any. */
  readonly r: number
  /** Correlation at the best offset elsewhere; NaN when there is none. */
  readonly runnerUp_r: number
  /** One plain sentence for the pilot. */
  readonly reason: string
}

/** Commands are compared at no more than this: sticks hold nothing above 50 Hz. */
const GRID_HZ = 100
/** Rivals are looked for beyond this from the best offset, and beyond the hill it stands on. */
const RIVAL_DISTANCE_S = 1
const WIDEST_LOBE_S = 5
/** Flights must overlap for at least this (half of the shorter one if that is less). */
const MIN_OVERLAP_S = 5

/** What the gyro or the throttle alone can prove is less than what the pilot's commands prove. */
const KINDS: readonly { readonly by: AlignedBy; readonly alike: string; readonly atMost: Sureness }[] = [
  { by: 'setpoint', alike: 'setpoints', atMost: 'certain' },
  { by: 'stick', alike: 'sticks', atMost: 'certain' },
  { by: 'throttle', alike: 'throttles', atMost: 'likely' },
  { by: 'gyro', alike: 'gyros', atMost: 'likely' },
]

const SURENESS: readonly Alignment['sure'][] = ['none', 'guess', 'likely', 'certain']

interface Candidate {
  readonly by: AlignedBy
  readonly offset_s: number
  readonly r: number
  readonly rival_r: number
  readonly sure: Alignment['sure']
  readonly channel: string
}

/**
 * Finds the offset at which flight B's commands look most like flight A's. Channels of the same name are brought
 * to one even grid (<= 100 Hz) and a common scale and compared at every offset at which the flights overlap for 5 s
 * and a third of the shorter one (see evidence.ts). Commands (setpoint, else stick, with the throttle) are tried
 * first, then the throttle alone, then the gyro; the first that is at least likely is taken, else the surest.
 * How sure: by the evidence's size, the correlation of the channel that shows most, the best rival elsewhere and the
 * share of overlap (limits in `judge`: common practice, no source). The throttle or the gyro alone never make it
 * certain. Flights may differ in length and rate. Constant channels and NaN samples take no part.
 */
export function alignFlights(flights: { readonly a: AlignFlight; readonly b: AlignFlight }): Alignment {
  const { a, b } = flights
  const starts_s = (a.t_s[0] ?? 0) - (b.t_s[0] ?? 0)
  const unaligned = (reason: string): Alignment => ({
    offset_s: starts_s,
    by: null,
    channel: null,
    sure: 'none',
    r: NaN,
    runnerUp_r: NaN,
    reason: `${reason} The flights' first samples were laid on each other.`,
  })
  const rate_hz = Math.min(GRID_HZ, meanRate_hz(a.t_s), meanRate_hz(b.t_s))
  if (!(rate_hz > 0)) return unaligned('One of the flights is too short to be aligned.')
  const onOneGrid = (flight: AlignFlight) =>
    new Map(
      flight.channels.map(
        ({ name, samples }) => [name, standardised(onGrid(flight.t_s, samples, rate_hz))] as const,
      ),
    )
  const channelsA = onOneGrid(a)
  const channelsB = onOneGrid(b)
  const candidates: Candidate[] = []
  for (const kind of KINDS) {
    const pairs = pairsFor(kind.by, channelsA, channelsB)
    if (pairs.length === 0) continue
    const found = bestOffset(pairs, rate_hz, kind.by, kind.atMost)
    if (!found) continue
    candidates.push({ ...found, offset_s: starts_s + found.offset_s })
    if (found.sure === 'certain' || found.sure === 'likely') break
  }
  const rank = (candidate: Candidate) => SURENESS.indexOf(candidate.sure)
  const best = candidates.sort((x, y) => rank(y) - rank(x) || y.r - x.r)[0]
  if (!best) return unaligned('The flights have no moving command or gyro in common.')
  const alike = KINDS.find(({ by }) => by === best.by)!.alike
  if (best.sure === 'none') {
    return unaligned(
      `No offset makes the two flights look alike (best correlation of the ${alike}: ${best.r.toFixed(2)}).`,
    )
  }
  return {
    offset_s: best.offset_s,
    by: best.by,
    channel: best.channel,
    sure: best.sure,
    r: best.r,
    runnerUp_r: best.rival_r,
    reason: sentence(best, alike),
  }
}

function sentence(best: Candidate, alike: string): string {
  const rival = Number.isNaN(best.rival_r) ? '' : `, against ${best.rival_r.toFixed(2)} anywhere else`
  const caution = {
    certain: '',
    likely: ' Check it on the plot.',
    guess: ' This is a guess: check it on the plot, and shift by hand if it is wrong.',
    none: '',
  }[best.sure]
  const stand =
    best.by === 'gyro'
      ? ' Only the gyros could be compared, which answer to wind and tune as well as to the pilot.'
      : best.by === 'throttle'
        ? ' Only the throttle could be compared.'
        : ''
  const subject = `The ${alike} of the two flights match best here`
  return `${subject} (${spoken(best.channel)}: correlation ${best.r.toFixed(2)}${rival}).${stand}${caution}`
}

/** 'setpoint.roll' -> 'roll setpoint' */
const spoken = (name: string): string => name.split('.').reverse().join(' ')

/** Channels of the kind that move in both flights. The throttle helps the commands along. */
function pairsFor(
  by: AlignedBy,
  a: ReadonlyMap<string, Float64Array | null>,
  b: ReadonlyMap<string, Float64Array | null>,
): ChannelPair[] {
  const named = [...a.keys()].filter((name) => name === by || name.startsWith(`${by}.`))
  const both = (names: string[]) =>
    names.flatMap((name) => {
      const inA = a.get(name)
      const inB = b.get(name)
      return inA && inB ? [{ name, a: inA, b: inB }] : []
    })
  const pairs = both(named)
  return pairs.length > 0 && (by === 'setpoint' || by === 'stick') ? [...pairs, ...both(['throttle'])] : pairs
}

/** The best offset of B against A, counted from the grids' first points. Null when they can't overlap enough. */
function bestOffset(
  pairs: readonly ChannelPair[],
  rate_hz: number,
  by: AlignedBy,
  atMost: Sureness,
): Candidate | null {
  const lengthA = pairs[0]!.a.length
  const lengthB = pairs[0]!.b.length
  const shorter = Math.min(lengthA, lengthB)
  const minOverlap = Math.ceil(Math.max(16, shorter / 3, Math.min(MIN_OVERLAP_S * rate_hz, shorter / 2)))
  // Entry k compares A[n] with B[n + lag]: B runs `lag` late, so lag is taken off B's time.
  const firstLag = minOverlap - lengthA
  const lastLag = lengthB - minOverlap
  if (lastLag < firstLag) return null
  const { score, r, strongest, overlap } = evidenceOf(pairs, firstLag, lastLag, minOverlap)
  const peak = indexOfMax(score, () => true)
  if (peak < 0) return null
  const edge = lobeOf(
    score,
    peak,
    Math.round(RIVAL_DISTANCE_S * rate_hz),
    Math.round(WIDEST_LOBE_S * rate_hz),
  )
  const rival = indexOfMax(score, (k) => k < edge.left || k > edge.right)
  const inside = peak > 0 && peak < score.length - 1
  const shift = inside ? parabolaPeak(score[peak - 1]!, score[peak]!, score[peak + 1]!) : 0
  const sure = judge({
    r: r[peak]!,
    score: score[peak]!,
    rivalShare: rival < 0 ? 0 : score[rival]! / score[peak]!,
    overlapShare: overlap[peak]! / shorter,
  })
  return {
    by,
    channel: pairs[strongest[peak]!]!.name,
    offset_s: -(firstLag + peak + shift) / rate_hz,
    r: r[peak]!,
    rival_r: rival < 0 ? NaN : r[rival]!,
    sure: SURENESS[Math.min(SURENESS.indexOf(sure), SURENESS.indexOf(atMost))]!,
  }
}

/** Chance alone reaches a score of 5 in about one pair of flights of a hundred. */
function judge(found: {
  readonly r: number
  readonly score: number
  readonly rivalShare: number
  readonly overlapShare: number
}): Alignment['sure'] {
  const { r, score, rivalShare, overlapShare } = found
  if (score >= 8 && r >= 0.7 && rivalShare <= 0.7 && overlapShare >= 0.5) return 'certain'
  if (score >= 6 && r >= 0.5 && rivalShare <= 0.85) return 'likely'
  return score >= 5 && r >= 0.2 ? 'guess' : 'none'
}

/** The hill around the peak, down to 0.7 of it: at least `nearest` and at most `widest` entries to either side. */
function lobeOf(score: Float64Array, peak: number, nearest: number, widest: number) {
  const reach = (step: 1 | -1): number => {
    let away = 0
    while (away < widest && (away < nearest || score[peak + step * (away + 1)]! > 0.7 * score[peak]!)) away++
    return away
  }
  return { left: peak - reach(-1), right: peak + reach(1) }
}

function indexOfMax(values: Float64Array, admitted: (index: number) => boolean): number {
  let best = -1
  for (let k = 0; k < values.length; k++) {
    if (Number.isNaN(values[k]) || !admitted(k)) continue
    if (best < 0 || values[k]! > values[best]!) best = k
  }
  return best
}
