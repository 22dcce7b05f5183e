import { motors, one, pattern, RAD, three, words, type HeaderStyle } from './header-style.ts'

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
      ...pattern('unfiltered', 'gyro_raw_#', 'x y z'),
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
      ...pattern('pTerm', 'term p (#)', '0 1 2'),
      ...pattern('iTerm', 'term i (#)', '0 1 2'),
      ...pattern('dTerm', 'term d (#)', '0 1 2'),
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
      ...motors('motor_rpm_#', 1, {}, 'speed'),
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
  {
    label: 'P, I and D as letters after the axis, beside the body rates p, q, r',
    columns: [
      one('t', 'time'),
      ...three('gyro', ['p', 'q', 'r'], { scale: RAD }),
      ...three('setpoint', ['p_cmd', 'q_cmd', 'r_cmd'], { scale: RAD }),
      ...pattern('pTerm', '#_p', words),
      ...pattern('iTerm', '#_i', words),
      ...pattern('dTerm', '#_d', words),
    ],
    units: { gyro: 'radps', dTerm: 'own' },
  },
  {
    label: 'a plain gyro beside a filtered one: the plain one is before the filters',
    columns: [
      one('time', 'time'),
      ...pattern('unfiltered', 'gyro_#', 'x y z'),
      ...pattern('gyro', 'gyro_filt_#', 'x y z'),
      ...pattern('setpoint', 'rate_ref_#', 'x y z'),
    ],
  },
  {
    label: 'a raw gyro whose name says more than the filtered one’s',
    columns: [
      one('time', 'time'),
      ...pattern('unfiltered', 'raw gyro #', words),
      ...pattern('gyro', '# rate', words),
      ...pattern('setpoint', 'desired # rate', words),
    ],
  },
  {
    label: 'before and after the filter in so many words, after first',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro after filter #', 'x y z'),
      ...pattern('unfiltered', 'gyro before filter #', 'x y z', { scale: RAD }),
      ...pattern('setpoint', 'wanted rate #', 'x y z'),
    ],
    units: { gyro: 'dps', unfiltered: 'radps' },
  },
  {
    label: 'a raw gyro alone is the gyro',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_raw_#', 'x y z'),
      ...pattern('setpoint', 'rate_sp_#', 'x y z'),
    ],
  },
  {
    label: 'a second, loosely mounted sensor’s raw rates are not the gyro before its filters',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      ...pattern('second', 'camera_gyro_raw_#', 'x y z'),
      ...pattern('setpoint', 'rate_sp_#', 'x y z'),
    ],
  },
  {
    label: 'gains, limits and errors with the terms’ own letters',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', words),
      ...pattern('setpoint', 'setpoint_#', words),
      ...pattern('bias', 'd_gain_#', words),
      ...pattern('bias', 'iterm_limit_#', words),
      ...pattern('place', 'position_p_#', words),
      ...pattern('anglesetpoint', 'angle_i_#', words),
      ...pattern('dTerm', 'pid_d_#', words),
      ...pattern('iTerm', 'pid_i_#', words),
    ],
  },
  {
    label: 'speeds by their unit alone, beside wanted speeds, heat and current of the same motors',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      ...motors('motor # [%]', 1, { scale: 100 }),
      ...motors('motor # [rpm]', 1, {}, 'speed'),
      ...motors('motor # rpm target', 1, {}, 'wanted'),
      ...motors('motor # temperature', 1, {}, 'heat'),
      ...motors('motor # current [A]', 1, {}, 'current'),
      one('ground speed 1', 'volt'),
      one('ground speed 2', 'volt'),
      one('ground speed 3', 'volt'),
    ],
    units: { motor: 'percent', speed: 'rpm' },
  },
  {
    label: '“rpm” that no rotor reaches is electrical',
    columns: [
      one('time', 'time'),
      ...pattern('gyro', 'gyro_#', 'x y z'),
      ...motors('rpm[#]', 0, { scale: 7 }, 'speed'),
      one('throttle', 'throttle'),
    ],
    units: { speed: 'erpm' },
  },
  {
    label: 'German terms and turns',
    columns: [
      one('Zeit in ms', 'time', { scale: 1e3 }),
      ...pattern('gyro', 'Drehrate # [°/s]', 'Rollen Nicken Gieren'),
      ...pattern('unfiltered', 'Drehrate ungefiltert # [°/s]', 'Rollen Nicken Gieren'),
      ...pattern('setpoint', 'Drehrate Soll # [°/s]', 'Rollen Nicken Gieren'),
      ...pattern('dTerm', 'D-Anteil #', 'Rollen Nicken Gieren'),
      ...pattern('iTerm', 'I-Anteil #', 'Rollen Nicken Gieren'),
      ...motors('Drehzahl Motor # [1/min]', 1, {}, 'speed'),
    ],
    units: { unfiltered: 'dps', speed: 'rpm', dTerm: 'own' },
  },
]
