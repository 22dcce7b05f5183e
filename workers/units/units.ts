/**
 * Every conversion of units in the program. Canonical units, to which columns are brought on reading:
 * time s, rates deg/s, sticks -1..1, throttle and motors 0..1, motor speeds rpm (those marked electrical still count the
 * motor's pole pairs), terms of the controller share of the motors or as logged, voltages V.
 */
export const DEG_PER_RAD = 180 / Math.PI

/** Quantities a column can hold. */
export type Quantity = 'time' | 'rate' | 'stick' | 'throttle' | 'motor' | 'speed' | 'term' | 'voltage'

/** value_canonical = value_in_file * scale + offset */
export interface Unit {
  readonly id: string
  /** As shown to people. */
  readonly label: string
  readonly quantity: readonly Quantity[]
  readonly scale: number
  readonly offset: number
}

const unit = (id: string, label: string, quantity: readonly Quantity[], scale: number, offset = 0): Unit => ({
  id,
  label,
  quantity,
  scale,
  offset,
})

/** All known units. A stick of 1000..2000 µs is centred on 1500; a throttle of the same range starts at 1000. */
export const UNITS = {
  s: unit('s', 's', ['time'], 1),
  ms: unit('ms', 'ms', ['time'], 1e-3),
  us: unit('us', 'µs', ['time'], 1e-6),
  ns: unit('ns', 'ns', ['time'], 1e-9),
  dps: unit('dps', 'deg/s', ['rate'], 1),
  radps: unit('radps', 'rad/s', ['rate'], DEG_PER_RAD),
  mradps: unit('mradps', 'mrad/s', ['rate'], DEG_PER_RAD * 1e-3),
  cdps: unit('cdps', '0.01 deg/s', ['rate'], 1e-2),
  ddps: unit('ddps', '0.1 deg/s', ['rate'], 1e-1),
  unit: unit('unit', '-1..1', ['stick'], 1),
  stick100: unit('stick100', '-100..100', ['stick'], 1e-2),
  stick500: unit('stick500', '-500..500', ['stick'], 1 / 500),
  stick1000: unit('stick1000', '-1000..1000', ['stick'], 1e-3),
  stickUs: unit('stickUs', '1000..2000 µs, centre 1500', ['stick'], 1 / 500, -3),
  share: unit('share', '0..1', ['throttle', 'motor'], 1),
  percent: unit('percent', '0..100 %', ['throttle', 'motor'], 1e-2),
  permille: unit('permille', '0..1000', ['throttle', 'motor'], 1e-3),
  pulseUs: unit('pulseUs', '1000..2000 µs', ['throttle', 'motor'], 1e-3, -1),
  bits11: unit('bits11', '0..2047', ['throttle', 'motor'], 1 / 2047),
  bits16: unit('bits16', '0..65535', ['throttle', 'motor'], 1 / 65535),
  rpm: unit('rpm', 'rpm', ['speed'], 1),
  rpm100: unit('rpm100', '100 rpm', ['speed'], 100),
  revps: unit('revps', 'Hz, turns a second', ['speed'], 60),
  turnradps: unit('turnradps', 'rad/s of the rotor', ['speed'], 30 / Math.PI),
  erpm: unit('erpm', 'electrical rpm', ['speed'], 1),
  erpm100: unit('erpm100', '100 electrical rpm', ['speed'], 100),
  erevps: unit('erevps', 'electrical Hz', ['speed'], 60),
  own: unit('own', 'as logged', ['term'], 1),
  termShare: unit('termShare', '-1..1 of the motors', ['term'], 1),
  termPercent: unit('termPercent', '% of the motors', ['term'], 1e-2),
  termPermille: unit('termPermille', '0.1 % of the motors', ['term'], 1e-3),
  volt: unit('volt', 'V', ['voltage'], 1),
  decivolt: unit('decivolt', '0.1 V', ['voltage'], 1e-1),
  centivolt: unit('centivolt', '0.01 V', ['voltage'], 1e-2),
  millivolt: unit('millivolt', 'mV', ['voltage'], 1e-3),
} as const satisfies Record<string, Unit>

export type UnitId = keyof typeof UNITS

/** True for a motor speed that counts every pole pair: divide by their number for the rotor's own. */
export const isElectrical = (unit: UnitId): boolean =>
  unit === 'erpm' || unit === 'erpm100' || unit === 'erevps'

/** The units that a column of this quantity may be given, for a menu. */
export function unitsFor(quantity: Quantity): Unit[] {
  return Object.values<Unit>(UNITS).filter((candidate) => candidate.quantity.includes(quantity))
}
