import { relate } from './evidence.ts'

/**
 * A stand-in for a missing setpoint: the rate that the stick asks for, read off stretches in which the stick was held
 * and the gyro had settled. Whoever shows anything made from it must mark it *estimated*: an error between gyro and
 * this curve says nothing about a steady offset, which the fit has taken in.
 */
export interface RateCurve {
  /** rate = linear s + cubic s^3 + quintic s^5, in deg/s for a stick s of -1..1. */
  readonly linear_dps: number
  readonly cubic_dps: number
  readonly quintic_dps: number
  /** Largest stick deflection that a steady stretch showed; beyond it the curve goes on straight. */
  readonly reach: number
  /** Steady stretches that it was fitted to. */
  readonly stretches: number
  /** Root mean square of what the fit leaves, deg/s. */
  readonly residual_dps: number
}

const STEADY_S = 0.06
const STICK_STILL = 0.02
const FEWEST = 30
const LEAST_REACH = 0.25

/**
 * Fits the curve by least squares to the mean stick and gyro of steady stretches: 60 ms in which the stick moves less
 * than 2 % of its throw, the gyro taken late by the lag at which it follows the stick best. The curve is odd, as
 * sticks have no preferred side. Own definition, no source.
 * @param stick -1..1, NaN where missing
 * @param gyro_dps same rows
 * @param rate_hz rows a second
 * @param breaks 1 at rows after which the clock has a gap (see `gapMask`): no stretch goes across one
 * @returns null when the stick was hardly moved or held, the gyro does not follow it, or the curve would turn back
 */
export function fitRateCurve(
  stick: Float32Array,
  gyro_dps: Float32Array,
  rate_hz: number,
  breaks?: Uint8Array,
): RateCurve | null {
  const rows = Math.max(3, Math.round(STEADY_S * rate_hz))
  const relation = relate(
    Float64Array.from(stick, finiteOrZero),
    Float64Array.from(gyro_dps, finiteOrZero),
    Math.max(32, Math.round(2 * rate_hz)),
    Math.max(2, Math.round(0.2 * rate_hz)),
  )
  if (!relation || relation.r < 0.5) return null
  const points = steadyPoints(stick, gyro_dps, rows, relation.lagRows, breaks)
  const reach = points.reduce((most, [s]) => Math.max(most, Math.abs(s)), 0)
  if (points.length < FEWEST || reach < LEAST_REACH) return null
  const [linear_dps, cubic_dps, quintic_dps] = fitOdd(points)
  const curve = { linear_dps, cubic_dps, quintic_dps, reach, stretches: points.length, residual_dps: 0 }
  // A rate curve never turns back within what was seen.
  for (let step = 1; step <= 50; step += 1) {
    if (rateOf(curve, (step / 50) * reach) < rateOf(curve, ((step - 1) / 50) * reach)) return null
  }
  const square = points.reduce((sum, [s, rate]) => sum + (rate - rateOf(curve, s)) ** 2, 0)
  return { ...curve, residual_dps: Math.sqrt(square / points.length) }
}

/** The rate in deg/s that a stick of -1..1 asks for. */
export function rateOf(curve: RateCurve, stick: number): number {
  const inside = Math.max(-curve.reach, Math.min(curve.reach, stick))
  const square = inside * inside
  const rate = inside * (curve.linear_dps + square * (curve.cubic_dps + square * curve.quintic_dps))
  const slope = curve.linear_dps + square * (3 * curve.cubic_dps + 5 * square * curve.quintic_dps)
  return rate + Math.max(0, slope) * (stick - inside)
}

/** The estimated setpoint for every row, deg/s; NaN where the stick is missing. */
export function estimateSetpoint(curve: RateCurve, stick: Float32Array): Float32Array {
  return stick.map((position) => rateOf(curve, position))
}

function steadyPoints(
  stick: Float32Array,
  gyro: Float32Array,
  rows: number,
  lag: number,
  breaks?: Uint8Array,
): [number, number][] {
  const points: [number, number][] = []
  // The gyro settles only some time after the stick has come to rest: as long again as the lag.
  const settle = 2 * lag
  for (let from = 0; from + rows + settle <= stick.length; from += rows) {
    let min = Infinity
    let max = -Infinity
    let sum = 0
    let whole = true
    for (let row = from; row < from + rows + settle; row += 1) {
      const position = stick[row] as number
      if (Number.isNaN(position) || (breaks?.[row] === 1 && row + 1 < from + rows + settle)) whole = false
      if (position < min) min = position
      if (position > max) max = position
      if (row < from + rows) sum += position
    }
    if (!whole || !(max - min < STICK_STILL)) continue
    let rate = 0
    for (let row = from + settle; row < from + settle + rows; row += 1) rate += gyro[row] as number
    if (Number.isFinite(rate)) points.push([sum / rows, rate / rows])
  }
  return points
}

/** Least squares for s, s^3, s^5 by the normal equations of three unknowns (Cramer's rule). */
function fitOdd(points: readonly (readonly [number, number])[]): [number, number, number] {
  const sums = new Float64Array(11)
  const right = new Float64Array(3)
  for (const [s, rate] of points) {
    const square = s * s
    let power = square
    for (let k = 2; k <= 10; k += 2) {
      sums[k] = (sums[k] as number) + power
      power *= square
    }
    right[0] = (right[0] as number) + s * rate
    right[1] = (right[1] as number) + s * square * rate
    right[2] = (right[2] as number) + s * square * square * rate
  }
  const [a, b, c, d, e] = [sums[2], sums[4], sums[6], sums[8], sums[10]] as [
    number,
    number,
    number,
    number,
    number,
  ]
  const [x, y, z] = right as unknown as [number, number, number]
  const whole = determinant(a, b, c, b, c, d, c, d, e)
  const scale = a * c * e
  if (Math.abs(whole) < 1e-9 * scale) return [x / a, 0, 0]
  return [
    determinant(x, b, c, y, c, d, z, d, e) / whole,
    determinant(a, x, c, b, y, d, c, z, e) / whole,
    determinant(a, b, x, b, c, y, c, d, z) / whole,
  ]
}

function determinant(
  a: number,
  b: number,
  c: number,
  d: number,
  e: number,
  f: number,
  g: number,
  h: number,
  i: number,
): number {
  return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
}

const finiteOrZero = (value: number): number => (Number.isFinite(value) ? value : 0)
