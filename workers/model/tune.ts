import type { Axis, PerAxis } from '../flight/axes.ts'

/**
 * The settings of the rate loop. Gains turn rates into a share of the motors' range (1 = from stop to full),
 * per thousand so that the numbers are handy.
 */
export interface AxisTune {
  /** Share per 1000 deg/s of error. */
  readonly p: number
  /** Share per 1000 deg of error gathered over time. */
  readonly i: number
  /** Share per 1000 deg/s^2 of the filtered gyro's change. */
  readonly d: number
  /** Share per 1000 deg/s^2 of the setpoint's change. */
  readonly feedForward: number
  /** Most that the gathered error may add, share. */
  readonly windupLimit: number
}

export interface StickCurve {
  /** Setpoint at full stick, deg/s. */
  readonly full_dps: number
  /** 0: straight, 1: wholly cubic; soft round the centre. */
  readonly softness: number
}

export interface Tune {
  readonly axes: PerAxis<AxisTune>
  readonly curves: PerAxis<StickCurve>
  /** Low-pass on the gyro; null leaves it out. */
  readonly gyroLowPass: { readonly f_hz: number; readonly order: 1 | 2 } | null
  readonly notches: readonly { readonly f_hz: number; readonly quality: number }[]
  /** First-order low-pass on the gyro's change before D; null leaves it out. */
  readonly dLowPass_hz: number | null
  /** Corner of the smoothing of the link's steps; null leaves it out. */
  readonly stickSmoothing_hz: number | null
  /** Rate of the controller; the rate of integration is a whole multiple of it. */
  readonly controlRate_hz: number
  /** Lowest and highest command that a motor is ever given, shares. */
  readonly idle: number
  readonly top: number
}

export const LANTERN_TUNE: Tune = {
  axes: {
    roll: { p: 1.1, i: 2.5, d: 0.007, feedForward: 0.006, windupLimit: 0.25 },
    pitch: { p: 2.2, i: 5, d: 0.012, feedForward: 0.008, windupLimit: 0.25 },
    yaw: { p: 2.4, i: 16, d: 0, feedForward: 0.006, windupLimit: 0.25 },
  },
  curves: {
    roll: { full_dps: 680, softness: 0.35 },
    pitch: { full_dps: 680, softness: 0.35 },
    yaw: { full_dps: 480, softness: 0.3 },
  },
  gyroLowPass: { f_hz: 130, order: 2 },
  notches: [{ f_hz: 225, quality: 4 }],
  dLowPass_hz: 90,
  stickSmoothing_hz: 28,
  controlRate_hz: 4000,
  idle: 0.055,
  top: 1,
}

/** Setpoint for a stick position -1..1: straight and cubic parts blended (common practice, no source). */
export function setpoint_dps(curve: StickCurve, stick: number): number {
  return curve.full_dps * ((1 - curve.softness) * stick + curve.softness * stick * stick * stick)
}

/** A tune with the gains of some axes multiplied, each rounded to three digits. */
export function scaledTune(
  tune: Tune,
  axes: readonly Axis[],
  factors: Partial<Record<keyof AxisTune, number>>,
): Tune {
  const next = { ...tune.axes }
  for (const axis of axes) {
    const gains = { ...next[axis] }
    for (const [name, factor] of Object.entries(factors) as [keyof AxisTune, number][])
      gains[name] = Number((gains[name] * factor).toPrecision(3))
    next[axis] = gains
  }
  return { ...tune, axes: next }
}
