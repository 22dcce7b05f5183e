import type { UnitId } from '../../../workers/units/units.ts'

/** One column of a style: its name in the file, the signal behind it, and how that is written. */
export interface StyledColumn {
  readonly name: string
  readonly signal: string
  readonly scale?: number
  readonly offset?: number
  /** Written without a fraction. */
  readonly whole?: boolean
}

/** An invented header. Every signal that is a role (not a decoy) is expected to be found under its own name. */
export interface HeaderStyle {
  readonly label: string
  readonly columns: readonly StyledColumn[]
  readonly unitTexts?: readonly string[]
  /** Units that must be found, by the start of the role. */
  readonly units?: Readonly<Record<string, UnitId>>
  /** Signals whose sign the file has turned. */
  readonly signs?: Readonly<Record<string, -1>>
}

const RAD = Math.PI / 180
type Write = Omit<StyledColumn, 'name' | 'signal'>

/** Three columns, one per axis, in the order roll, pitch, yaw. */
function three(kind: string, names: readonly [string, string, string], write: Write = {}): StyledColumn[] {
  return (['roll', 'pitch', 'yaw'] as const).map((axis, k) => ({
    name: names[k] as string,
    signal: `${kind}.${axis}`,
    ...write,
  }))
}

/** Three names from one pattern, in which # stands for the axis. */
function pattern(kind: string, text: string, axes: string, write: Write = {}): StyledColumn[] {
  const [a, b, c] = axes.split(' ') as [string, string, string]
  return three(kind, [text.replace('#', a), text.replace('#', b), text.replace('#', c)], write)
}

/** Four motors from one pattern. */
function motors(text: string, from: number, write: Write = {}, kind = 'motor'): StyledColumn[] {
  return [1, 2, 3, 4].map((k) => ({
    name: text.replace('#', String(k - 1 + from)),
    signal: `${kind}.${k}`,
    ...write,
  }))
}

const one = (name: string, signal: string, write: Write = {}): StyledColumn => ({ name, signal, ...write })
const words = 'roll pitch yaw'

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
]

export const ADVERSARIAL_STYLES: readonly HeaderStyle[] = [
  {
    label: 'the word gyro inside the setpoint’s name, and before it',
    columns: [
      one('time', 'time'),
      ...pattern('setpoint', 'gyro_setpoint_#', words),
      ...pattern('gyro', 'gyro_#', words),
    ],
  },
  {
    label: 'swapped words: "command rate roll" beside "roll rate"',
    columns: [
      one('time', 'time'),
      ...pattern('setpoint', 'command rate #', words),
      ...pattern('gyro', '# rate', words),
    ],
  },
  {
    label: 'a raw and a filtered gyro',
    columns: [
      one('time', 'time'),
      ...pattern('raw', 'gyro_raw_#', 'x y z'),
      ...pattern('gyro', 'gyro_filtered_#', 'x y z'),
      ...pattern('setpoint', 'rate_sp_#', 'x y z'),
    ],
  },
  {
    label: 'attitude and attitude setpoints beside the rates',
    columns: [
      one('time', 'time'),
      ...pattern('angle', '#', words),
      ...pattern('anglesetpoint', 'target_#', words),
      ...pattern('gyro', '#_rate', words),
      ...pattern('setpoint', 'target_#_rate', words),
    ],
  },
  {
    label: 'radians and degrees in one file, no units named',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'real.rate.#', 'r p y', { scale: RAD }),
      ...pattern('setpoint', 'wanted.rate.#', 'r p y'),
    ],
    units: { gyro: 'radps', setpoint: 'dps' },
  },
  {
    label: 'the other way round',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro.#', 'r p y'),
      ...pattern('setpoint', 'gyro.target.#', 'r p y', { scale: RAD }),
    ],
    units: { gyro: 'dps', setpoint: 'radps' },
  },
  {
    label: 'a setpoint whose pitch has the other sign',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      one('rate_ref_x', 'setpoint.roll'),
      one('rate_ref_y', 'setpoint.pitch', { scale: -1 }),
      one('rate_ref_z', 'setpoint.yaw'),
    ],
    signs: { 'setpoint.pitch': -1 },
  },
  {
    label: 'a gyro whose pitch runs against the attitude, no setpoint',
    columns: [
      one('time', 'time'),
      one('gyro_x', 'gyro.roll', { scale: RAD }),
      one('gyro_y', 'gyro.pitch', { scale: -RAD }),
      one('gyro_z', 'gyro.yaw', { scale: RAD }),
      ...pattern('angle', 'attitude_#_deg', words),
    ],
    units: { gyro: 'radps' },
    signs: { 'gyro.pitch': -1 },
  },
  {
    label: 'controller terms with the axis letters p, i, d around',
    columns: [
      one('cycle no', 'index'),
      one('clock in us', 'time', { scale: 1e6 }),
      ...pattern('pterm', 'term p (#)', '0 1 2'),
      ...pattern('pterm', 'term i (#)', '0 1 2'),
      ...pattern('pterm', 'term d (#)', '0 1 2'),
      ...pattern('stick', 'pilot stick (#)', '0 1 2', { scale: 500, whole: true }),
      one('pilot stick (3)', 'throttle', { scale: 1000, offset: 1000, whole: true }),
      ...pattern('setpoint', 'wanted rate (#)', '0 1 2', { whole: true }),
      ...pattern('gyro', 'gyros (#)', '0 1 2', { whole: true }),
    ],
    units: { time: 'us', throttle: 'pulseUs' },
  },
  {
    label: 'accelerometer, bias and place with the same letters',
    columns: [
      one('time', 'time'),
      ...pattern('acc', 'imu_acc_#', 'x y z'),
      ...pattern('bias', 'imu_gyro_bias_#', 'x y z'),
      ...pattern('gyro', 'imu_gyro_#', 'x y z', { scale: RAD }),
      ...pattern('place', 'target_#', 'x y z'),
      one('target_yaw', 'anglesetpoint.yaw'),
    ],
  },
  {
    label: 'motor speeds before motor commands',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      ...motors('motor_rpm_#', 1, {}, 'rpm'),
      ...motors('motor_cmd_#', 1, { scale: 65535 }),
      one('battery_volt', 'battery'),
      one('thrust_cmd', 'throttle', { scale: 65535 }),
    ],
    units: { motor: 'bits16', throttle: 'bits16' },
  },
  {
    label: 'a counter that runs like a clock, and stands first',
    columns: [
      one('frame', 'index'),
      one('stamp', 'time', { scale: 1e6, whole: true }),
      ...pattern('gyro', 'gyro_#', 'x y z'),
    ],
    units: { time: 'us' },
  },
  {
    label: 'words of the language itself, and duplicates',
    columns: [
      one('__proto__', 'volt'),
      one('constructor', 'acc.roll'),
      one('time', 'time'),
      one('x', 'place.roll'),
      one('x', 'place.pitch'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
    ],
  },
  {
    label: 'yaw first, upper case, everything behind one prefix',
    columns: [
      ...[2, 1, 0].flatMap((k) => pattern('gyro', 'FLIGHT/STATE/GYRO/#', 'ROLL PITCH YAW').slice(k, k + 1)),
      ...[2, 1, 0].flatMap((k) =>
        pattern('setpoint', 'FLIGHT/DEMAND/RATE/#', 'ROLL PITCH YAW').slice(k, k + 1),
      ),
      one('FLIGHT/TIME', 'time'),
    ],
  },
  {
    label: 'German',
    columns: [
      one('Zeit in ms', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'Drehrate # [°/s]', 'Rollen Nicken Gieren'),
      ...pattern('setpoint', 'Drehrate Soll # [°/s]', 'Rollen Nicken Gieren'),
      ...pattern('stick', 'Knüppel #', 'Roll Nick Gier', { scale: 100 }),
      one('Schub', 'throttle'),
    ],
    units: { time: 'ms', gyro: 'dps', setpoint: 'dps', stick: 'stick100' },
  },
  {
    label: 'French',
    columns: [
      one('temps (s)', 'time'),
      ...pattern('gyro', 'gyroscope #', 'roulis tangage lacet', { scale: RAD }),
      ...pattern('setpoint', 'consigne vitesse angulaire #', 'roulis tangage lacet', { scale: RAD }),
      one('gaz (%)', 'throttle', { scale: 100 }),
      ...motors('moteur #', 1),
    ],
    units: { gyro: 'radps', setpoint: 'radps', throttle: 'percent' },
  },
  {
    label: 'Spanish with accents',
    columns: [
      one('tiempo', 'time'),
      ...pattern('gyro', 'giroscopio_#', 'alabeo cabeceo guiñada'),
      ...pattern('setpoint', 'consigna_velocidad_angular_#', 'alabeo cabeceo guiñada'),
      one('acelerador', 'throttle'),
    ],
  },
  {
    label: 'Italian',
    columns: [
      one('tempo', 'time'),
      ...pattern('gyro', 'giroscopio #', 'rollio beccheggio imbardata'),
      ...pattern('setpoint', 'riferimento velocità angolare #', 'rollio beccheggio imbardata'),
      one('manetta', 'throttle'),
      ...motors('motore #', 1),
    ],
  },
  {
    label: 'Russian',
    columns: [
      one('время, мс', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'гироскоп #', 'крен тангаж рыскание'),
      ...pattern('setpoint', 'задание угловая скорость #', 'крен тангаж рыскание'),
      one('газ', 'throttle'),
      ...motors('двигатель #', 1),
    ],
    units: { time: 'ms' },
  },
  {
    label: 'Chinese and Japanese',
    columns: [
      one('时间 (s)', 'time'),
      ...pattern('gyro', '陀螺仪_#', '横滚 俯仰 偏航'),
      ...pattern('setpoint', '目标_角速度_#', '横滚 俯仰 偏航'),
      one('油门', 'throttle'),
      ...motors('电机_#', 1),
    ],
  },
]
