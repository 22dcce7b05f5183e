import type { Axis } from '../flight/axes.ts'

/**
 * Words by which people name a flight log's columns, in several languages, without accents and in lower case.
 * They are words of the trade and of everyday speech; no program's list of columns stands here.
 */

const list = (text: string): ReadonlySet<string> => new Set(text.split(/\s+/).filter((word) => word !== ''))

/** Words for turning rate sensors and their readings. */
export const GYRO_WORDS = list(
  'gyro gyros gyroscope gyr gyroscopes giro giroscopio giroscopi gyroscopio giroscope giroskop kreisel drehrate drehraten omega angvel angrate гироскоп гиро 陀螺 陀螺仪 角速度 ジャイロ',
)
/** Words for a rate of turn, measured or wanted. */
export const RATE_WORDS = list(
  'rate rates angular rot rotation rotational turnrate drehgeschwindigkeit winkelgeschwindigkeit winkel angulaire angolare spin скорость угловая',
)
/** Words for what was wanted. */
export const SETPOINT_WORDS = list(
  'setpoint setpoints setp set sp target targets tgt desired des desire command commanded commands cmd demand demanded ref reference wanted want goal requested request req soll sollwert vorgabe consigne consigna objetivo deseado desejado comando comandato riferimento referencia reference borde bor doel zadana zadany уставка задание задан заданная 目标 期望 目標 指令',
)
/** Words for what was measured, where both stand in a file. */
export const ACTUAL_WORDS = list(
  'real actual act measured meas feedback current is ist istwert estimate estimated est filtered filt state true sensed mesure medido misurato 实际 測定 измеренная',
)
/** Words for what the pilot's hands did. */
export const STICK_WORDS = list(
  'stick sticks rc pilot joystick input inputs receiver rx transmitter tx manual radio hand knuppel steuerknuppel manche palanca joy стик стики 摇杆 スティック',
)
export const THROTTLE_WORDS = list(
  'throttle thr throt thrust gas gaz collective schub acelerador acelerador manetta poussee empuje spinta газ тяга 油门 スロットル',
)
export const MOTOR_WORDS = list(
  'motor motors mot mtr esc escs engine engines rotor rotors propeller prop moteur moteurs motore motori silnik мотор моторы двигатель 电机 モーター',
)
/** Words that name a motor only together with a number. */
export const WEAK_MOTOR_WORDS = list('m output outputs out pwm servo actuator actuators')
export const TIME_WORDS = list(
  'time times timestamp timestamps stamp t clock elapsed uptime zeit zeitstempel temps tiempo tempo czas tid aika время 时间 時間 時刻 millis micros',
)
/** Counters run as evenly as clocks do. */
export const COUNTER_WORDS = list(
  'index idx frame frames count counter loop iteration iter seq sequence row number no nr packet id',
)

/** Words of quantities that are no rate of turn, whatever axis they have. */
export const OTHER_WORDS = list(
  'acc accel accels accelerometer accelerometers acceleration accelerations acel accelerometre mag magnetometer magnetometers compass pos position positions vel velocity velocities speed quat quaternion quaternions attitude att angle angles ang euler rpy orientation heading tilt bias offset error err integral integrator term pterm iterm dterm fterm pid baro alt altitude height gps lat lon temp temperature volt voltage current currents amp amps battery vbat bat rpm erpm power noise debug trim fft spectrum force torque moment wind beschleunigung lage neigung position ускорение ошибка 加速度 姿态 加速',
)
/** Words for the flight battery. */
export const BATTERY_WORDS = list(
  'battery batteries batt bat vbat vbatt lipo pack akku flugakku batterie batteria bateria accu akumulator supply main аккумулятор батарея 电池 電池 バッテリー',
)
/** Words for a voltage. */
export const VOLTAGE_WORDS = list(
  'voltage voltages volt volts vbat vbatt spannung akkuspannung batteriespannung tension voltaje tensione tensao spanning napiecie напряжение 电压 電圧',
)
/** Voltages of anything else, and what else is told of a battery. */
export const NOT_BATTERY_WORDS = list(
  'current amp amps ampere consumed used capacity mah percent percentage remaining soc level temp temperature cell cells count state status warning bec rail usb servo servos rx receiver radio sensor core ref reference power energy watt watts resistance error motor esc',
)
/** Of those, the words that a motor's or throttle's command never bears. */
export const NOT_COMMAND_WORDS = list(
  'rpm erpm temp temperature volt voltage current currents amp amps battery vbat bat speed error err noise debug fft hz frequency freq',
)
/** Words for how fast something turns; of a motor, with its number. */
export const TURN_SPEED_WORDS = list(
  'rpm erpm rps speed speeds revs revolutions drehzahl drehzahlen umdrehungen regime vitesse velocidad velocita giri obroty обороты скорость 转速 回転数',
)
/** Of those, the words that need no word for a motor beside them. */
export const PLAIN_TURN_WORDS = list('rpm erpm drehzahl drehzahlen обороты 转速 回転数')
/** Words by which a motor's speed counts pole pairs. */
export const ELECTRICAL_WORDS = list('erpm electrical electric elec elektrisch electrique электрическая')
/** What else is told of a motor or its controller, with units that speeds have, too. */
export const NOT_SPEED_WORDS = list(
  'limit min max idle target temp temperature volt voltage current amp amps error err noise debug fft notch filter loss load cmd command setpoint sp vertical ground air wind gps',
)
/** Words for a gyro before its filters. */
export const UNFILTERED_WORDS = list(
  'raw unfiltered unfilt unfilter prefilter prefilt prefiltered roh ungefiltert brut brute crudo grezzo grezza сырой сырая 原始 未滤波 生',
)
/** Words for a filter, and words that put a column before it. */
export const FILTERED_WORDS = list(
  'filtered filt filter lpf lowpass smoothed smooth gefiltert filtre filtrado filtrado filtrato фильтр 滤波',
)
export const BEFORE_WORDS = list('pre before vor avant antes prima ante un not no ohne sans sin')
/** Words that a better copy of the same quantity would not bear. */
export const LESSER_WORDS = list(
  'raw unfiltered unfilt unfilter prefilter prefilt prefiltered roh ungefiltert brut brute crudo grezzo grezza сырой сырая 原始 未滤波 backup aux secondary second alt debug scaled',
)

/** Words for the parts of a controller's demand; letters count only in company. */
export const TERM_WORDS = {
  pTerm: list('pterm proportional proportionnel proporcional proporzionale'),
  iTerm: list('iterm integral integrator integrated integ integrale'),
  dTerm: list('dterm derivative derivate deriv derivee derivativo derivativa differential'),
  feedForward: list('fterm ffterm feedforward ff vorsteuerung'),
} as const
export const TERM_LETTERS = { pTerm: 'p', iTerm: 'i', dTerm: 'd', feedForward: 'f' } as const
/** Company in which a letter is a part of a controller's demand. */
export const TERM_COMPANY = list(
  'term terms pid part parts component contribution anteil anteile terme termino termine parte controller ctrl regler regulator',
)
/** Words of what is no such part: its setting, or a loop round an angle or a place. */
export const NOT_TERM_WORDS = list(
  'gain gains k kp ki kd kf coefficient setting limit limits min max sum error err att attitude angle angles pos position vel velocity alt altitude acc accel gps target filter cutoff notch bias bat battery',
)

const AXIS_WORDS: Readonly<Record<Axis, ReadonlySet<string>>> = {
  roll: list('roll rollen rol roulis alabeo rollio rolagem rullning bank przechylenie крен ロール 横滚 滚转'),
  pitch: list(
    'pitch nick nicken pit tangage cabeceo beccheggio arfagem stampen tippning pochylenie тангаж ピッチ 俯仰',
  ),
  yaw: list('yaw gier gieren lacet guinada imbardata gir odchylenie рыскание курс ヨー 偏航'),
}
/** Control surfaces stand for the axis they turn; they name sticks. */
const SURFACE_WORDS: Readonly<Record<Axis, ReadonlySet<string>>> = {
  roll: list('aileron ailerons ail aile'),
  pitch: list('elevator elev ele'),
  yaw: list('rudder rud rudd'),
}

/** The axis that a whole word names, or null. */
export function axisOfWord(word: string): Axis | null {
  for (const axis of ['roll', 'pitch', 'yaw'] as const) if (AXIS_WORDS[axis].has(word)) return axis
  return axisOfSurface(word)
}

/** The axis that a control surface turns, or null. */
export function axisOfSurface(word: string): Axis | null {
  for (const axis of ['roll', 'pitch', 'yaw'] as const) if (SURFACE_WORDS[axis].has(word)) return axis
  return null
}

const SETS = [
  GYRO_WORDS,
  RATE_WORDS,
  SETPOINT_WORDS,
  ACTUAL_WORDS,
  STICK_WORDS,
  THROTTLE_WORDS,
  MOTOR_WORDS,
  WEAK_MOTOR_WORDS,
  TIME_WORDS,
  COUNTER_WORDS,
  OTHER_WORDS,
  LESSER_WORDS,
  TURN_SPEED_WORDS,
  FILTERED_WORDS,
  UNFILTERED_WORDS,
  TERM_COMPANY,
  ...Object.values(TERM_WORDS),
]

/** True for every word of the lists above: for taking glued words apart. */
export function isKnownWord(word: string): boolean {
  return axisOfWord(word) !== null || word === 'imu' || word === 'ctrl' || SETS.some((set) => set.has(word))
}
