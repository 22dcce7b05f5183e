import { Filter, lowPass1, lowPass2, notch, type Coefficients } from './filters.ts'
import type { AxisTune, Tune } from './tune.ts'

/** Quality of a second-order Butterworth low-pass. */
export const BUTTERWORTH_QUALITY = Math.SQRT1_2

/** The filters between the gyro and the controller, in order. */
export function gyroFilters(tune: Tune): Coefficients[] {
  const rate_hz = tune.controlRate_hz
  const chain = tune.notches.map((one) => notch(one.f_hz, one.quality, rate_hz))
  const low = tune.gyroLowPass
  if (low)
    chain.push(
      low.order === 1 ? lowPass1(low.f_hz, rate_hz) : lowPass2(low.f_hz, BUTTERWORTH_QUALITY, rate_hz),
    )
  return chain
}

/** One axis of the rate loop: P, I and D on the filtered gyro, feed-forward on the setpoint's change. */
export class AxisController {
  private readonly filters: Filter[]
  private readonly dFilter: Filter | null
  private readonly p: number
  private readonly iStep: number
  private readonly dPerStep: number
  private readonly forwardPerStep: number
  private readonly limit: number
  /** [gathered share, gyro before, setpoint before, filtered gyro, D-term, P-term, feed-forward] */
  private readonly state = new Float64Array(7)

  constructor(axis: AxisTune, tune: Tune) {
    this.filters = gyroFilters(tune).map((coefficients) => new Filter(coefficients))
    this.dFilter =
      tune.dLowPass_hz === null ? null : new Filter(lowPass1(tune.dLowPass_hz, tune.controlRate_hz))
    this.p = axis.p / 1000
    this.iStep = axis.i / 1000 / tune.controlRate_hz
    this.dPerStep = (axis.d / 1000) * tune.controlRate_hz
    this.forwardPerStep = (axis.feedForward / 1000) * tune.controlRate_hz
    this.limit = axis.windupLimit
  }

  /** The filtered gyro of the latest step, deg/s: what a log calls gyro. */
  get gyro_dps(): number {
    return this.state[3]!
  }

  /** Parts of the latest step's demand, shares: they add up to it. */
  get pTerm(): number {
    return this.state[5]!
  }
  get iTerm(): number {
    return this.state[0]!
  }
  get dTerm(): number {
    return this.state[4]!
  }
  get feedForward(): number {
    return this.state[6]!
  }

  /**
   * One control step: setpoint and unfiltered gyro in deg/s to a demand in shares. `gather` lets the error be
   * gathered; it is off before take-off and while the motors are at their limits.
   */
  step(setpoint: number, gyro: number, gather: boolean): number {
    const state = this.state
    let filtered = gyro
    for (let index = 0; index < this.filters.length; index++) filtered = this.filters[index]!.step(filtered)
    const error = setpoint - filtered
    if (gather) {
      const gathered = state[0]! + this.iStep * error
      state[0] = gathered > this.limit ? this.limit : gathered < -this.limit ? -this.limit : gathered
    }
    const change = filtered - state[1]!
    const smoothed = this.dFilter === null ? change : this.dFilter.step(change)
    const forward = setpoint - state[2]!
    state[1] = filtered
    state[2] = setpoint
    state[3] = filtered
    state[4] = -this.dPerStep * smoothed
    state[5] = this.p * error
    state[6] = this.forwardPerStep * forward
    return state[5]! + state[0]! + state[4]! + state[6]!
  }
}
