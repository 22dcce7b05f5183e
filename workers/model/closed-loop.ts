import type { StepResponse } from './linear.ts'

/** The closed loop from setpoint to logged gyro over frequency. */
export interface FrequencyResponse {
  readonly f_hz: readonly number[]
  /** |gyro / setpoint| */
  readonly gain: readonly number[]
  /** Unwrapped from 0 Hz on; falls with delay. */
  readonly phase_deg: readonly number[]
}

/** Frequencies of the truth, Hz: close together where sticks have their energy. */
export const TRUTH_F_HZ: readonly number[] = [
  0.5, 1, 1.5, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 25, 30, 35, 40, 50, 60, 80, 100,
]

/**
 * Frequency response of a loop from its step response: the transform of the step's increments, summed
 * directly. Exact where the response has settled within its length; a slower loop leaks at the lowest
 * frequencies.
 */
export function frequencyResponse(response: StepResponse, f_hz: readonly number[]): FrequencyResponse {
  const gain: number[] = []
  const phase_deg: number[] = []
  let before = 0
  for (const f of f_hz) {
    const [real, imaginary] = transform(response, f)
    let phase = (Math.atan2(imaginary, real) * 180) / Math.PI
    while (phase - before > 180) phase -= 360
    while (phase - before < -180) phase += 360
    before = phase
    gain.push(Math.hypot(real, imaginary))
    phase_deg.push(phase)
  }
  return { f_hz, gain, phase_deg }
}

/** Delay of slow movements: minus the slope of the phase at 0 Hz, seconds. By the first moment of the increments. */
export function slowDelay_s(response: StepResponse): number {
  const { gyro, rate_hz } = response
  let moment = 0
  let sum = 0
  for (let index = 0; index < gyro.length; index++) {
    const increment = gyro[index]! - (index > 0 ? gyro[index - 1]! : 0)
    moment += index * increment
    sum += increment
  }
  return moment / sum / rate_hz
}

/** Where the closed loop's gain last falls through -3 dB, Hz; null if it does not within the frequencies given. */
export function bandwidth_hz({ f_hz, gain }: FrequencyResponse): number | null {
  const level = Math.SQRT1_2
  for (let index = f_hz.length - 1; index > 0; index--) {
    const low = gain[index - 1]!
    const high = gain[index]!
    if (low < level || high >= level) continue
    return f_hz[index - 1]! + ((low - level) / (low - high)) * (f_hz[index]! - f_hz[index - 1]!)
  }
  return null
}

function transform({ gyro, rate_hz }: StepResponse, f_hz: number): [number, number] {
  const angle = (-2 * Math.PI * f_hz) / rate_hz
  const turnRe = Math.cos(angle)
  const turnIm = Math.sin(angle)
  let re = 1
  let im = 0
  let sumRe = 0
  let sumIm = 0
  let before = 0
  for (let index = 0; index < gyro.length; index++) {
    const increment = gyro[index]! - before
    before = gyro[index]!
    sumRe += increment * re
    sumIm += increment * im
    const next = re * turnRe - im * turnIm
    im = re * turnIm + im * turnRe
    re = next
  }
  return [sumRe, sumIm]
}
