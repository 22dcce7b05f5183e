import { chiSquareQuantile } from './chi-square.ts'
import type { NoiseMap } from './noise-map.ts'

/** Where a frequency shows up in a log of this rate: folded at half the rate, as often as needed. */
export function folded_hz(f_hz: number, rate_hz: number): number {
  if (!(rate_hz > 0)) throw new Error(`sample rate must be positive: ${rate_hz}`)
  const within = Math.abs(f_hz) % rate_hz
  return Math.min(within, rate_hz - within)
}

/** A line that a rotor of known speed makes. */
export interface RotorLine {
  readonly name: string
  /** As it is in the air. */
  readonly f_hz: number
  /** As the log shows it. */
  readonly shown_hz: number
  readonly folded: boolean
}

/**
 * Lines of a rotor: its speed and twice it, and the blades' passing and twice that. Overlay for a spectrum of this rate.
 * Speed is mechanical; for an electrical speed divide by the pole pairs first (see electricalToMechanical_rpm).
 */
export function rotorLines(speed_rpm: number, blades: number, rate_hz: number): RotorLine[] {
  const turn_hz = speed_rpm / 60
  const line = (name: string, f_hz: number): RotorLine => ({
    name,
    f_hz,
    shown_hz: folded_hz(f_hz, rate_hz),
    folded: f_hz > rate_hz / 2,
  })
  return [
    line('rotor', turn_hz),
    line('rotor x2', 2 * turn_hz),
    line('blade pass', blades * turn_hz),
    line('blade pass x2', 2 * blades * turn_hz),
  ]
}

/** Mechanical speed of a motor from its electrical one. */
export function electricalToMechanical_rpm(electrical_rpm: number, polePairs: number): number {
  if (!(polePairs > 0)) throw new Error(`pole pairs must be positive: ${polePairs}`)
  return electrical_rpm / polePairs
}

/** A peak that noise alone would not make. */
export interface SpectralLine {
  readonly f_hz: number
  /** Of the density at the peak. */
  readonly level_db: number
  /** Above the median of its neighbourhood. */
  readonly prominence_db: number
}

/**
 * Lines of a spectrum: local maxima that stand out of the median around them (a quarter of an octave, at least 8 bins,
 * to either side) by more than noise of `dof` degrees of freedom does once in a hundred spectra. Strongest first.
 */
export function findLines(
  spectrum: { readonly f_hz: Float64Array; readonly density: Float64Array; readonly dof: number },
  from_hz: number,
): SpectralLine[] {
  const { f_hz, density, dof } = spectrum
  const step = f_hz.length > 1 ? f_hz[1]! - f_hz[0]! : 1
  // Chance of one bin that makes 1 % for the spectrum; the median of chi-square is (1 - 2/(9 dof))^3 dof, nearly.
  const limit = chiSquareQuantile(1 - 0.01 / density.length, dof) / (dof * (1 - 2 / (9 * dof)) ** 3)
  const found: SpectralLine[] = []
  for (let k = 2; k < density.length - 2; k++) {
    const at = density[k]!
    if (f_hz[k]! < from_hz || at <= density[k - 1]! || at < density[k + 1]!) continue
    const reach = Math.max(8, Math.round((0.19 * f_hz[k]!) / step))
    const floor = medianAround(density, k, reach)
    if (!(at > limit * floor)) continue
    const left = Math.log(density[k - 1]!)
    const middle = Math.log(at)
    const right = Math.log(density[k + 1]!)
    const bend = left - 2 * middle + right
    const shift = bend < 0 ? (0.5 * (left - right)) / bend : 0
    found.push({
      f_hz: f_hz[k]! + shift * step,
      level_db: 10 * Math.log10(at),
      prominence_db: 10 * Math.log10(at / floor),
    })
  }
  return found.sort((a, b) => b.prominence_db - a.prominence_db)
}

/** Median of the neighbours, the peak and the two bins beside it that its window smears into left out. */
function medianAround(density: Float64Array, k: number, reach: number): number {
  const around: number[] = []
  for (let j = Math.max(1, k - reach); j <= Math.min(density.length - 1, k + reach); j++) {
    if (Math.abs(j - k) > 2) around.push(density[j]!)
  }
  around.sort((a, b) => a - b)
  return around[around.length >> 1] ?? NaN
}

/** A line that climbs with the throttle, as a rotor's does. */
export interface RisingLine {
  /** One frequency per throttle bin; NaN where the map shows nothing. */
  readonly f_hz: Float64Array
  /** Mean height over the median of the bin's levels. */
  readonly prominence_db: number
}

/** Below this mean height over the floor there is no line to speak of (common practice, no source). */
const LEAST_PROMINENCE_DB = 6

/**
 * Finds, without any speed sensor, the strongest line that does not fall with throttle: the path through the map's bins
 * that gathers the most level over each bin's median (dynamic programming), climbing at most `climb_hz` per bin.
 * Null when fewer than three bins are flown or the path stands out by less than 6 dB on average.
 */
export function risingLine(map: NoiseMap, from_hz: number, climb_hz = 60): RisingLine | null {
  const { f_hz, level_db, throttleEdges } = map
  const width = f_hz.length
  const bins = throttleEdges.length - 1
  const flown = Array.from({ length: bins }, (_, bin) => bin).filter(
    (bin) => !Number.isNaN(level_db[bin * width + 1]),
  )
  if (flown.length < 3) return null
  const first = f_hz.findIndex((f) => f >= from_hz)
  if (first < 0) return null
  const heights = flown.map((bin) => {
    const row = level_db.subarray(bin * width + first, (bin + 1) * width)
    const median = row.slice().sort()[row.length >> 1]!
    return Float64Array.from(row, (level) => level - median)
  })
  const count = width - first
  const step = f_hz[1]! - f_hz[0]!
  let score = heights[0]!
  const cameFrom: Int32Array[] = []
  for (let row = 1; row < flown.length; row++) {
    const reach = Math.max(1, Math.round((climb_hz * (flown[row]! - flown[row - 1]!)) / step))
    const from = new Int32Array(count)
    const next = new Float64Array(count)
    for (let k = 0; k < count; k++) {
      let best = k
      for (let j = Math.max(0, k - reach); j < k; j++) if (score[j]! > score[best]!) best = j
      from[k] = best
      next[k] = score[best]! + heights[row]![k]!
    }
    cameFrom.push(from)
    score = next
  }
  let k = 0
  for (let j = 1; j < count; j++) if (score[j]! > score[k]!) k = j
  const prominence_db = score[k]! / flown.length
  if (prominence_db < LEAST_PROMINENCE_DB) return null
  const path = new Float64Array(bins).fill(NaN)
  for (let row = flown.length - 1; row >= 0; row--) {
    path[flown[row]!] = f_hz[first + k]!
    if (row > 0) k = cameFrom[row - 1]![k]!
  }
  return { f_hz: path, prominence_db }
}
