/** What a craft does after a stop. Plain data; null where it can't be given. */
export interface BounceBack {
  /** Which shape explains it best by BIC. */
  readonly shape: 'none' | 'ring' | 'slow' | 'ring and slow'
  /** Largest swing back past the setpoint, deg/s, as measured; 0 or more. */
  readonly peak_dps: number
  /** How far that swing turns the craft back, deg. */
  readonly angle_deg: number
  readonly ringFrequency_hz: number | null
  readonly dampingRatio: number | null
  /** Size of the ring at the stop, deg/s. */
  readonly ring_dps: number | null
  /** Size, deg/s, and time constant, s, of the slow recovery. */
  readonly slow_dps: number | null
  readonly slow_s: number | null
  /** From the stop until |gyro - setpoint| stays small; null when it does not within the window. */
  readonly settle_s: number | null
  /** Share of the variance that the fit explains. */
  readonly explained: number
  /** The stretch fitted: times from the stop on, gyro minus setpoint, and the fit over it. For the picture. */
  readonly t_s: readonly number[]
  readonly data_dps: readonly number[]
  readonly fit_dps: readonly number[]
}
