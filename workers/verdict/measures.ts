/** Every measure of the verdict: what it is called, its unit, which way is good, and what difference matters. */
export interface MeasureFacts {
  readonly label: string
  readonly unit: string
  readonly digits: number
  readonly good: 'lower' | 'higher' | 'neither'
  /** Declared before looking. Few, so that one in many can't pass by chance. */
  readonly headline: boolean
  /** The smallest difference that matters, in the unit (common practice, no source); editable. */
  readonly delta: number
  /** One figure of a flight ('flights') or one per manoeuvre ('pairs'). */
  readonly from: 'pairs' | 'flights'
  /** One for each axis, or one for the craft. */
  readonly per: 'axis' | 'craft'
  readonly explained: string
}

const facts = (
  label: string,
  unit: string,
  digits: number,
  good: MeasureFacts['good'],
  delta: number,
  explained: string,
  rest: Partial<MeasureFacts> = {},
): MeasureFacts => ({
  label,
  unit,
  digits,
  good,
  delta,
  explained,
  headline: false,
  from: 'pairs',
  per: 'axis',
  ...rest,
})

export const VERDICT_MEASURES = {
  trackingError: facts(
    'Tracking error, RMS',
    'deg/s',
    1,
    'lower',
    5,
    'Root mean square of setpoint minus gyro over each turn, snap and swing.',
    { headline: true },
  ),
  lag: facts('Lag', 'ms', 1, 'lower', 2, 'How long the gyro comes after the setpoint in each manoeuvre.', {
    headline: true,
  }),
  bouncePeak: facts(
    'Bounce-back',
    'deg/s',
    1,
    'lower',
    6,
    'Largest swing back past the setpoint after a stop.',
    { headline: true },
  ),
  bounceAngle: facts('Bounce-back angle', 'deg', 2, 'lower', 0.5, 'How far the craft swings back.'),
  ringFrequency: facts(
    'Ring frequency',
    'Hz',
    1,
    'neither',
    2,
    'How fast the craft rings after a stop, where it rings.',
  ),
  ringDamping: facts('Ring damping ratio', '', 2, 'higher', 0.08, 'How soon the ringing dies out.'),
  settling: facts('Settling', 'ms', 0, 'lower', 20, 'From the stop until the gyro stays near the setpoint.'),
  washScore: facts(
    'Prop wash',
    'dB',
    1,
    'lower',
    2,
    'Shaking in 8-40 Hz in the half second after a catch, over the quiet flight (our own definition).',
  ),
  throttleDrift: facts(
    'Drift at throttle steps',
    'deg',
    2,
    'lower',
    0.5,
    'How far the craft is turned in 0.3 s after a punch or chop (our own definition).',
  ),
  noiseLow: facts('Noise, 20-80 Hz', 'dB', 1, 'lower', 1.5, 'Gyro power in hands-off flight.'),
  noiseHigh: facts('Noise, 80 Hz up', 'dB', 1, 'lower', 1.5, 'Gyro power in hands-off flight.'),
  rise: facts('Rise, 10-90 %', 'ms', 1, 'lower', 3, 'Of the estimated step response.', { from: 'flights' }),
  overshoot: facts('Overshoot', '%', 1, 'lower', 3, 'Of the estimated step response.', { from: 'flights' }),
  motorTop: facts(
    'Motors at the top',
    '%',
    1,
    'lower',
    5,
    'Share of each manoeuvre in which a motor stood at its highest command.',
    { per: 'craft', headline: true },
  ),
} as const satisfies Record<string, MeasureFacts>

export type MeasureId = keyof typeof VERDICT_MEASURES
export const MEASURE_IDS = Object.keys(VERDICT_MEASURES) as MeasureId[]

/** Why the usual smallest differences are what they are; none has a published source. */
export const DELTA_REASONS: Readonly<Record<MeasureId, string>> = {
  trackingError: 'Our own round figure, common practice, no source.',
  lag: 'One sample of a 500 Hz log: less can hardly be seen in most logs.',
  bouncePeak:
    'Our own figure, set on simulated flights so that a 40 % change of P and D shows and a rougher hand does not.',
  bounceAngle: 'Our own round figure, common practice, no source.',
  ringFrequency: 'Our own round figure, common practice, no source.',
  ringDamping: 'Our own round figure, common practice, no source.',
  settling: 'Ten samples of a 500 Hz log; our own round figure.',
  washScore: 'Power up or down by half (2 dB is 58 %); our own definition and figure.',
  throttleDrift: 'Our own round figure, common practice, no source.',
  noiseLow: 'Power up or down by 40 %; our own round figure.',
  noiseHigh: 'Power up or down by 40 %; our own round figure.',
  rise: 'One and a half samples of a 500 Hz log; our own round figure.',
  overshoot: 'Our own round figure, common practice, no source.',
  motorTop: 'One twentieth of the manoeuvre; our own round figure.',
}
