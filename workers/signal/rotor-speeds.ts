import { realFft } from './fft.ts'
import { folded_hz } from './motor-lines.ts'
import { windowSamples } from './windows.ts'

/** Which number logged speeds must be divided by so that the gyro's lines stand where the rotors turn. */
export interface DivisorCheck {
  /** 1: the speeds are the rotors' own. */
  readonly divisor: number
  /** Mean height of the gyro's spectrum at the rotors' frequencies over its surroundings, dB. */
  readonly prominence_db: number
  /** The same for every divisor that was tried. */
  readonly tried: ReadonlyMap<number, number>
}

export interface DivisorQuestion {
  /** Gyro of any axis, deg/s; unfiltered where there is one. NaN takes no part. */
  readonly gyro: ArrayLike<number>
  /** Logged speed of each motor, same rows, turns a minute times the divisor that is asked for. */
  readonly speeds_rpm: readonly ArrayLike<number>[]
  readonly rate_hz: number
  readonly divisors: readonly number[]
}

const FRAME_S = 0.25
const MOST_FRAMES = 150
/** Slower rotors than this stand at idle: their lines drown in the flying. */
const LEAST_HZ = 40
const AROUND = 10
/** Noise alone stands 3 dB over its median by the highest of three bins; a line must do better (own limit, no source). */
const LEAST_DB = 5
/** The best divisor must beat the next by this. */
const CLEARLY_DB = 1

/**
 * Cross-checks logged motor speeds with the gyro's own lines: frames of a quarter of a second all over the series (Hann),
 * in each the height of the spectrum at speed/divisor, folded at half the rate, over the median around it; averaged over
 * frames and motors. Null when no divisor's lines stand out, or two do alike. Own definition, no source.
 */
export function checkDivisor({ gyro, speeds_rpm, rate_hz, divisors }: DivisorQuestion): DivisorCheck | null {
  const size = 2 ** Math.round(Math.log2(FRAME_S * rate_hz))
  const hop = Math.max(size >> 1, Math.floor(gyro.length / MOST_FRAMES))
  if (gyro.length < 8 * size || size < 32) return null
  const window = windowSamples('hann', size)
  const plan = realFft(size)
  const frame = new Float64Array(size)
  const re = new Float64Array(plan.bins)
  const im = new Float64Array(plan.bins)
  const level = new Float64Array(plan.bins)
  const sums = divisors.map(() => ({ height: 0, count: 0 }))
  for (let start = 0; start + size <= gyro.length; start += hop) {
    let whole = true
    for (let n = 0; n < size && whole; n++) {
      const value = gyro[start + n]!
      whole = value - value === 0
      frame[n] = value * window[n]!
    }
    if (!whole) continue
    plan.forward(frame, re, im)
    putLevels(re, im, level)
    for (const speed of speeds_rpm) {
      const turned_hz = speed[start + (size >> 1)]! / 60
      divisors.forEach((divisor, index) => {
        const f_hz = turned_hz / divisor
        if (!(f_hz > LEAST_HZ)) return
        const height = heightAt(level, (folded_hz(f_hz, rate_hz) * size) / rate_hz)
        if (Number.isNaN(height)) return
        sums[index]!.height += height
        sums[index]!.count++
      })
    }
  }
  const tried = new Map<number, number>()
  divisors.forEach((divisor, index) => {
    const { height, count } = sums[index]!
    if (count >= 20) tried.set(divisor, height / count)
  })
  const ranked = [...tried].sort((a, b) => b[1] - a[1])
  const [best, next] = ranked
  if (!best || best[1] < LEAST_DB || (next && best[1] - next[1] < CLEARLY_DB)) return null
  return { divisor: best[0], prominence_db: best[1], tried }
}

function putLevels(re: Float64Array, im: Float64Array, level: Float64Array): void {
  for (let k = 0; k < level.length; k++) level[k] = 10 * Math.log10(re[k]! * re[k]! + im[k]! * im[k]! + 1e-12)
}

/** Levels around a bin, in order. */
const around = new Float64Array(2 * AROUND + 1)

/** Highest of three bins over the median of those around; NaN at the edges. */
function heightAt(level: Float64Array, at: number): number {
  const k = Math.round(at)
  if (k < 4 || k > level.length - 4) return NaN
  let count = 0
  const last = Math.min(level.length - 2, k + AROUND)
  for (let j = Math.max(2, k - AROUND); j <= last; j++) {
    if (j >= k - 2 && j <= k + 2) continue
    // Put in where it belongs: for so few a sort of its own takes longer.
    const value = level[j]!
    let place = count++
    for (; place > 0 && around[place - 1]! > value; place--) around[place] = around[place - 1]!
    around[place] = value
  }
  return Math.max(level[k - 1]!, level[k]!, level[k + 1]!) - around[count >> 1]!
}
