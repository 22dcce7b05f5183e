import { solveSymmetric } from '../response/solve-symmetric.ts'

/** What of a gyro's movement its setpoint explains, on an even clock. */
export interface Explained {
  /** Predicted gyro, deg/s; NaN where it can't be told. */
  readonly predicted: Float64Array
  /** Gyro less predicted. */
  readonly residual: Float64Array
  readonly rate_hz: number
}

/** Taps of the response: so far back, so far apart. Hands move below 20 Hz, so 8 ms apart loses nothing. */
const REACH_S = 0.24
const TAP_S = 0.008
/** Parts of the flight, each predicted from the others. */
const FOLDS = 8
const RIDGE = 1e-5

/**
 * Predicts the gyro from the setpoint by the response that the rest of the flight shows (finite impulse response by least
 * squares, with a hair of ridge): each eighth of the flight from the other seven, so that no stretch is judged by a fit to itself.
 * Null when less than 5 s are usable or the setpoint stands still.
 */
export function explainedBySetpoint(
  setpoint: ArrayLike<number>,
  gyro: ArrayLike<number>,
  rate_hz: number,
): Explained | null {
  const count = gyro.length
  if (setpoint.length !== count) throw new Error(`setpoint of ${setpoint.length} for gyro of ${count}`)
  const spacing = Math.max(1, Math.round(TAP_S * rate_hz))
  const taps = Math.floor((REACH_S * rate_hz) / spacing) + 1
  const reach = (taps - 1) * spacing
  const size = taps + 1
  const usable = usableRows(setpoint, gyro, reach)
  const total = usable.reduce((sum, value) => sum + value, 0)
  if (total < 5 * rate_hz) return null
  const folds = Array.from({ length: FOLDS }, () => ({
    normal: new Float64Array(size * size),
    right: new Float64Array(size),
  }))
  const foldOf = (n: number) => Math.min(FOLDS - 1, Math.floor((n * FOLDS) / count))
  const row = new Float64Array(size)
  // Every other sample carries the same information at these rates, at half the price.
  const stride = rate_hz > 200 ? 2 : 1
  for (let n = reach; n < count; n += stride) {
    if (usable[n] === 0) continue
    const { normal, right } = folds[foldOf(n)]!
    for (let k = 0; k < taps; k++) row[k] = setpoint[n - k * spacing]!
    row[taps] = 1
    const y = gyro[n]!
    for (let i = 0; i < size; i++) {
      const value = row[i]!
      if (value === 0) continue
      right[i]! += value * y
      for (let j = 0; j <= i; j++) normal[i * size + j]! += value * row[j]!
    }
  }
  const sum = (pick: (fold: (typeof folds)[number]) => Float64Array) =>
    folds.map(pick).reduce((a, b) => a.map((value, k) => value + b[k]!))
  const normalOfAll = sum(({ normal }) => normal)
  const rightOfAll = sum(({ right }) => right)
  if (!(normalOfAll[0]! > 0)) return null
  const predicted = new Float64Array(count).fill(NaN)
  folds.forEach(({ normal, right }, fold) => {
    const others = normalOfAll.map((value, k) => value - normal[k]!)
    if (!(others[0]! > 0)) return
    const response = solveSymmetric(
      others,
      rightOfAll.map((value, k) => value - right[k]!),
      RIDGE,
    )
    for (let n = reach; n < count; n++) {
      if (usable[n] === 0 || foldOf(n) !== fold) continue
      let value = response[taps]!
      for (let k = 0; k < taps; k++) value += response[k]! * setpoint[n - k * spacing]!
      predicted[n] = value
    }
  })
  return { predicted, residual: predicted.map((value, n) => gyro[n]! - value), rate_hz }
}

/** 1 where the gyro and all of the setpoint's reach are finite. */
function usableRows(setpoint: ArrayLike<number>, gyro: ArrayLike<number>, reach: number): Uint8Array {
  const usable = new Uint8Array(gyro.length)
  let finite = 0
  for (let n = 0; n < gyro.length; n++) {
    finite = Number.isFinite(setpoint[n]!) ? finite + 1 : 0
    if (finite > reach && Number.isFinite(gyro[n]!)) usable[n] = 1
  }
  return usable
}

/** Share of the gyro's movement in from..to (not included) that the setpoint explains; NaN without usable samples. */
export function explainedShare(
  gyro: ArrayLike<number>,
  { residual }: Explained,
  from: number,
  to: number,
): number {
  let whole = 0
  let rest = 0
  for (let n = Math.max(0, from); n < Math.min(to, residual.length); n++) {
    if (!Number.isFinite(residual[n]!)) continue
    whole += gyro[n]! ** 2
    rest += residual[n]! ** 2
  }
  return whole > 0 ? Math.max(0, 1 - rest / whole) : NaN
}
