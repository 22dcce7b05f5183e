import { motors, one, pattern, RAD, three, words, type HeaderStyle } from './header-style.ts'

export const PLAIN_STYLES: readonly HeaderStyle[] = [
  {
    label: 'snake case with words',
    columns: [
      one('time_s', 'time'),
      ...pattern('gyro', 'gyro_#', words),
      ...pattern('setpoint', 'setpoint_#', words),
      ...pattern('stick', 'stick_#', words),
      one('throttle', 'throttle'),
      ...motors('motor_#', 1),
    ],
    units: { time: 's', gyro: 'dps', setpoint: 'dps', stick: 'unit', throttle: 'share', motor: 'share' },
  },
  {
    label: 'camel case, microseconds, pulses',
    columns: [
      one('timeUs', 'time', { scale: 1e6 }),
      ...pattern('gyro', 'gyro#', 'Roll Pitch Yaw'),
      ...pattern('setpoint', 'rateSetpoint#', 'Roll Pitch Yaw'),
      ...pattern('stick', 'pilot#', 'Roll Pitch Yaw', { scale: 500, offset: 1500 }),
      one('pilotThrottle', 'throttle', { scale: 1000, offset: 1000 }),
      ...motors('motorOutput#', 1, { scale: 1000, offset: 1000 }),
    ],
    units: { time: 'us', gyro: 'dps', stick: 'stickUs', throttle: 'pulseUs', motor: 'pulseUs' },
  },
  {
    label: 'dots and letters, radians',
    columns: [
      one('t', 'time'),
      ...pattern('gyro', 'imu.gyro.#', 'x y z', { scale: RAD }),
      ...pattern('setpoint', 'cmd.rate.#', 'x y z', { scale: RAD }),
      one('cmd.thrust', 'throttle'),
      ...motors('act.motor.#', 0),
    ],
    units: { time: 's', gyro: 'radps', setpoint: 'radps' },
  },
  {
    label: 'numbers in brackets from 0, throttle as the fourth setpoint',
    columns: [
      one('stamp [us]', 'time', { scale: 1e6 }),
      ...pattern('gyro', 'turning rate[#]', '0 1 2'),
      ...pattern('setpoint', 'rate demand[#]', '0 1 2'),
      one('rate demand[3]', 'throttle', { scale: 1000 }),
      ...motors('engine[#]', 0, { scale: 2047 }),
    ],
    units: { time: 'us', gyro: 'dps', setpoint: 'dps', throttle: 'permille', motor: 'bits11' },
  },
  {
    label: 'numbers from 1',
    columns: [
      one('elapsed_ms', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'gyro_#', '1 2 3'),
      ...pattern('setpoint', 'target_rate_#', '1 2 3'),
      one('throttle_percent', 'throttle', { scale: 100 }),
      ...motors('m#', 1, { scale: 100 }),
    ],
    units: { time: 'ms', throttle: 'percent', motor: 'percent' },
  },
  {
    label: 'spaces and units in brackets',
    columns: [
      one('Time [ms]', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'Gyro # (deg/s)', 'X Y Z'),
      ...pattern('setpoint', 'Rate command # (deg/s)', 'X Y Z'),
      one('Throttle (%)', 'throttle', { scale: 100 }),
      ...motors('Motor # (%)', 1, { scale: 100 }),
    ],
    units: { time: 'ms', gyro: 'dps', setpoint: 'dps', throttle: 'percent', motor: 'percent' },
  },
  {
    label: 'units in a row of their own',
    columns: [
      one('Time', 'time', { scale: 1e9 }),
      ...pattern('gyro', 'AngularVelocity#', 'X Y Z', { scale: RAD }),
      ...pattern('setpoint', 'AngularVelocityRef#', 'X Y Z', { scale: RAD }),
    ],
    unitTexts: ['ns', ...Array.from({ length: 6 }, () => 'rad/s')],
    units: { time: 'ns', gyro: 'radps', setpoint: 'radps' },
  },
  {
    label: 'the body rates p, q, r',
    columns: [
      one('t_s', 'time'),
      ...three('gyro', ['p', 'q', 'r'], { scale: RAD }),
      ...three('setpoint', ['p_cmd', 'q_cmd', 'r_cmd'], { scale: RAD }),
      one('thrust_cmd', 'throttle'),
    ],
    units: { gyro: 'radps', setpoint: 'radps' },
  },
  {
    label: 'physicists',
    columns: [
      one('t', 'time'),
      ...three('gyro', ['wx', 'wy', 'wz'], { scale: RAD }),
      ...three('setpoint', ['wx_ref', 'wy_ref', 'wz_ref'], { scale: RAD }),
    ],
    units: { gyro: 'radps' },
  },
  {
    label: 'glued lower case',
    columns: [
      one('timestamp', 'time', { scale: 1e6, whole: true }),
      ...pattern('gyro', '#rate', words),
      ...pattern('setpoint', '#ratesp', words),
      one('throttlecmd', 'throttle'),
      ...motors('motor#', 1),
    ],
    units: { time: 'us' },
  },
  {
    label: 'sticks named by the surfaces they once moved',
    columns: [
      one('timestamp_us', 'time', { scale: 1e6 }),
      ...pattern('gyro', 'GYR_#', 'R P Y'),
      ...three('stick', ['AIL', 'ELE', 'RUD'], { scale: 500, offset: 1500, whole: true }),
      one('THR', 'throttle', { scale: 1000, offset: 1000, whole: true }),
    ],
    units: { stick: 'stickUs', throttle: 'pulseUs' },
  },
  {
    label: 'everything a craft can log, in plain words',
    columns: [
      one('time [ms]', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'gyro # [deg/s]', words),
      ...pattern('unfiltered', 'gyro unfiltered # [deg/s]', words),
      ...pattern('setpoint', 'setpoint # [deg/s]', words),
      ...pattern('pTerm', 'P-term # [%]', words, { scale: 100 }),
      ...pattern('iTerm', 'I-term # [%]', words, { scale: 100 }),
      ...pattern('dTerm', 'D-term # [%]', words, { scale: 100 }),
      ...pattern('feedForward', 'feed-forward # [%]', words, { scale: 100 }),
      one('throttle [%]', 'throttle', { scale: 100 }),
      ...motors('motor # [%]', 1, { scale: 100 }),
      ...motors('motor # speed [rpm]', 1, {}, 'speed'),
    ],
    units: { dTerm: 'termPercent', iTerm: 'termPercent', speed: 'rpm', unfiltered: 'dps', motor: 'percent' },
  },
  {
    label: 'camel case terms, turns a second',
    columns: [
      one('timeUs', 'time', { scale: 1e6 }),
      ...pattern('gyro', 'gyroFiltered#', 'Roll Pitch Yaw'),
      ...pattern('unfiltered', 'gyroUnfiltered#', 'Roll Pitch Yaw'),
      ...pattern('setpoint', 'rateSetpoint#', 'Roll Pitch Yaw'),
      ...pattern('dTerm', 'derivativeTerm#', 'Roll Pitch Yaw', { scale: 1000 }),
      ...pattern('iTerm', 'integralTerm#', 'Roll Pitch Yaw', { scale: 1000 }),
      ...motors('rotorSpeed# (Hz)', 1, { scale: 1 / 60 }, 'speed'),
    ],
    units: { speed: 'revps', dTerm: 'own' },
  },
  {
    label: 'electrical turns in hundreds, from 0',
    columns: [
      one('t_s', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      ...motors('m#', 0),
      ...motors('esc#_erpm', 0, { scale: 7 / 100, whole: true }, 'speed'),
    ],
    units: { speed: 'erpm100', motor: 'share' },
  },
]
