import { coherence, type CrossSpectra } from '../signal/cross-spectra.ts'

/** How much the flight offers to estimate a response from. */
export interface Excitation {
  readonly setpointRms_dps: number
  /** Share of the time in which a motor stood at its limit. */
  readonly excluded: number
}

/** Limits below which no response is given (common practice, no source). */
export const LEAST = {
  /** Effective averages. */
  averages: 5,
  setpointRms_dps: 5,
  /** Frequency up to which setpoint and gyro go together. */
  coherent_hz: 3,
  /** Share of the gyro's power up to there that goes with the setpoint. */
  following: 0.5,
} as const

/** Why a response can't be given, in one plain sentence; null when it can. */
export function excitationRefusal(
  excitation: Excitation,
  spectra: CrossSpectra,
  last_hz: number,
): string | null {
  if (excitation.excluded > 0.3) {
    return `The motors stood at their limit for ${(100 * excitation.excluded).toFixed(0)} % of the time: what they had left to give is shown, not the tune.`
  }
  if (spectra.averages < LEAST.averages) {
    return `Only ${spectra.segments} stretches of 2 s are long enough; a response needs more flight.`
  }
  if (!(excitation.setpointRms_dps >= LEAST.setpointRms_dps)) {
    return `The setpoint hardly moves (${excitation.setpointRms_dps.toFixed(1)} deg/s RMS): the sticks did not excite this axis.`
  }
  if (last_hz < LEAST.coherent_hz) {
    return `Setpoint and gyro go together only up to ${last_hz.toFixed(1)} Hz: the sticks did not excite this axis, or something else moved it.`
  }
  const g2 = coherence(spectra)
  let following = 0
  let whole = 0
  for (let k = 1; spectra.f_hz[k]! <= last_hz; k++) {
    following += g2[k]! * spectra.yy[k]!
    whole += spectra.yy[k]!
  }
  if (following < LEAST.following * whole) {
    return `Only ${((100 * following) / whole).toFixed(0)} % of the gyro's movement follows the setpoint: too little to tell the loop's answer.`
  }
  return null
}
