import { demandMask, slowed } from './response-series.ts'
import { stepResponse, type ResponseSeries, type StepResponse } from './step-response.ts'
import { refused, type Refused } from '../signal/result.ts'

/** Step responses to small and to large demands: a loop that answers them differently is not linear. */
export interface ResponseByDemand {
  /** What lies beyond this is large, deg/s. */
  readonly split_dps: number
  readonly small: StepResponse | Refused
  readonly large: StepResponse | Refused
}

export const DEMAND_METHOD = { id: 'step-response-by-demand', version: 2 }

/**
 * Splits the flight at `split_dps` (a third of the largest demand when left out) and estimates both parts by
 * themselves; each is refused, with the reason, where it has too little. What lies within a second of a large demand is large.
 */
export function responseByDemand(series: ResponseSeries, split_dps?: number): ResponseByDemand {
  // Both parts are estimated from the same means.
  const slow = slowed(series)
  const { setpoint, rate_hz } = slow
  const split = split_dps ?? largestSize(setpoint) / 3
  if (!(split > 0)) {
    const none = refused('The setpoint stands still.', { method: DEMAND_METHOD })
    return { split_dps: 0, small: none, large: none }
  }
  const part = (keep: 'small' | 'large') =>
    stepResponse({
      ...slow,
      skipped: demandMask(setpoint, rate_hz, split, keep),
      skippedWhat: `${keep === 'small' ? 'demands beyond' : 'stretches without demands beyond'} ${split.toFixed(0)} deg/s`,
    })
  return { split_dps: split, small: part('small'), large: part('large') }
}

function largestSize(values: ArrayLike<number>): number {
  let most = 0
  for (let n = 0; n < values.length; n++) {
    const size = Math.abs(values[n]!)
    if (size > most) most = size
  }
  return most
}
