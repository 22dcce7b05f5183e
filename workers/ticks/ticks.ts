/** Ticks at round numbers and the text beside them, for charts in the window and for the picture alike. */

export interface Ticks {
  readonly step: number
  /** Rising, all within the range, multiples of `step`. */
  readonly values: readonly number[]
  /** One per value, all with the same number of digits after the point. */
  readonly labels: readonly string[]
  /** Digits after the point that tell neighbouring ticks apart. */
  readonly digits: number
}

const MINUS = '\u2212'

/**
 * The smallest of 1, 2, 5 x 10^n that is at least `atLeast` (a positive finite number; else a RangeError).
 */
export function niceStep(atLeast: number): number {
  if (!(atLeast > 0) || !Number.isFinite(atLeast)) throw new RangeError(`step must be positive: ${atLeast}`)
  const exponent = Math.floor(Math.log10(atLeast))
  for (const candidate of [1, 2, 5, 10, 20]) {
    const step = scaleByPowerOfTen(candidate, exponent)
    // One part in 10^9 lets 0.30000000000000004 count as 0.3.
    if (step >= atLeast * (1 - 1e-9)) return step
  }
  throw new RangeError(`no step for ${atLeast}`)
}

/** Exact for negative exponents too: 2 / 10 is the double nearest 0.2, 2 * 0.1 need not be. */
function scaleByPowerOfTen(value: number, exponent: number): number {
  return exponent < 0 ? value / 10 ** -exponent : value * 10 ** exponent
}

/** Digits after the point needed to write multiples of `step` (1, 2, 5 x 10^n) exactly. */
export function digitsOfStep(step: number): number {
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9))
}

/**
 * Round ticks in [min, max], at most `atMost` of them where the range allows.
 * Errors: RangeError when min < max does not hold or a bound is not finite, or atMost < 2.
 */
export function niceTicks(min: number, max: number, atMost: number): Ticks {
  if (!(min < max) || !Number.isFinite(max - min)) throw new RangeError(`no range: ${min} to ${max}`)
  if (!(atMost >= 2)) throw new RangeError(`at least two ticks are needed: ${atMost}`)
  let step = niceStep((max - min) / atMost)
  let values = multiples(min, max, step)
  while (values.length > atMost) {
    step = niceStep(step * 1.5)
    values = multiples(min, max, step)
  }
  const digits = digitsOfStep(step)
  return { step, values, digits, labels: values.map((value) => formatFixed(value, digits)) }
}

/** One part in 10^9 of a step more or less still counts as within. */
const SLACK = 1e-9
const firstMultiple = (min: number, step: number) => Math.ceil(min / step - SLACK)
const lastMultiple = (max: number, step: number) => Math.floor(max / step + SLACK)

function multiples(min: number, max: number, step: number): number[] {
  const first = firstMultiple(min, step)
  const last = lastMultiple(max, step)
  const digits = digitsOfStep(step)
  const values: number[] = []
  // Number(...toFixed) removes the last bits' dirt of 3 * 0.1; `+ 0` turns -0 into 0.
  for (let index = first; index <= last; index++) values.push(Number((index * step).toFixed(digits)) + 0)
  return values
}

/** Steps in which people count time: seconds by 1, 2, 5, 10, 15, 30, then minutes. */
const TIME_STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600]

/**
 * Ticks of a time axis in seconds: below two minutes '12.5 s', from there on '2:30'.
 * Errors: as niceTicks.
 */
export function timeTicks(t0_s: number, t1_s: number, atMost: number): Ticks {
  const plain = niceTicks(t0_s, t1_s, atMost)
  if (plain.step < 1) return { ...plain, labels: plain.labels.map((label) => `${label} s`) }
  const step =
    TIME_STEPS_S.find((one) => lastMultiple(t1_s, one) - firstMultiple(t0_s, one) + 1 <= atMost) ?? plain.step
  const values = multiples(t0_s, t1_s, step)
  const long = Math.max(Math.abs(t0_s), Math.abs(t1_s)) >= 120
  return {
    step,
    values,
    digits: 0,
    labels: values.map((value) => (long ? formatMinutes(value) : `${formatFixed(value, 0)} s`)),
  }
}

/** Whole seconds as minutes and seconds: 150 is '2:30', -5 is '−0:05'. */
export function formatMinutes(t_s: number): string {
  const whole = Math.round(Math.abs(t_s))
  const text = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`
  return t_s < 0 && whole > 0 ? MINUS + text : text
}

/**
 * A number with fixed digits and a real minus sign, '−0.0' written as '0.0'.
 * NaN and infinities become a dash: there is nothing to read off.
 */
export function formatFixed(value: number, digits: number): string {
  if (!Number.isFinite(value)) return '\u2013'
  const text = Math.abs(value).toFixed(digits)
  return value < 0 && Number(text) !== 0 ? MINUS + text : text
}

/** As formatFixed, with a plus sign before a positive number: for differences. '±' never stands for zero. */
export function formatSigned(value: number, digits: number): string {
  const text = formatFixed(value, digits)
  return value > 0 && Number(text) !== 0 ? `+${text}` : text
}

/** The smallest range of round numbers that holds [min, max], with its ticks. Errors: as niceTicks. */
export function niceRange(
  min: number,
  max: number,
  atMost: number,
): { min: number; max: number; ticks: Ticks } {
  const step = niceStep((max - min) / Math.max(1, atMost - 1))
  const digits = digitsOfStep(step)
  const low = Number((Math.floor(min / step + 1e-9) * step).toFixed(digits)) + 0
  const high = Number((Math.ceil(max / step - 1e-9) * step).toFixed(digits)) + 0
  return { min: low, max: high, ticks: niceTicks(low, high, atMost + 1) }
}
