import type { UnitId } from '../units/units.ts'

/** How people write units, without case, spaces, dots and brackets. Only units of time and turning rate decide anything. */
const WORDS: ReadonlyMap<string, UnitId> = new Map<string, UnitId>([
  ...(['s', 'sec', 'secs', 'second', 'seconds', 'sek', 'sekunden'] as const).map((w) => [w, 's'] as const),
  ...(['ms', 'msec', 'msecs', 'millis', 'millisecond', 'milliseconds'] as const).map(
    (w) => [w, 'ms'] as const,
  ),
  ...(['us', 'µs', 'μs', 'usec', 'usecs', 'micros', 'microsecond', 'microseconds'] as const).map(
    (w) => [w, 'us'] as const,
  ),
  ...(['ns', 'nsec', 'nsecs', 'nanos', 'nanosecond', 'nanoseconds'] as const).map((w) => [w, 'ns'] as const),
  ...(
    [
      'deg/s',
      'deg/sec',
      'degs/s',
      '°/s',
      '°/sec',
      'dps',
      'degps',
      'degpersec',
      'degrees/s',
      'degrees/sec',
    ] as const
  ).map((w) => [w, 'dps'] as const),
  ...(
    [
      'degrees/second',
      'degreespersecond',
      'deg*s-1',
      'degs-1',
      'deg_s',
      'degsec',
      'deg/sek',
      'grad/s',
      '度/秒',
    ] as const
  ).map((w) => [w, 'dps'] as const),
  ...(
    [
      'rad/s',
      'rad/sec',
      'rads',
      'radps',
      'radians/s',
      'radians/sec',
      'radians/second',
      'radianspersecond',
    ] as const
  ).map((w) => [w, 'radps'] as const),
  ...(['rads-1', 'rad*s-1', 'rad_s', 'radsec', 'radpersec', 'rad/sek', 'рад/с'] as const).map(
    (w) => [w, 'radps'] as const,
  ),
  ...(['mrad/s', 'mrads', 'mradps', 'millirad/s'] as const).map((w) => [w, 'mradps'] as const),
  ...(['cdeg/s', 'cdps', '0.01deg/s', 'centideg/s'] as const).map((w) => [w, 'cdps'] as const),
  ...(['ddeg/s', 'ddps', '0.1deg/s', 'decideg/s'] as const).map((w) => [w, 'ddps'] as const),
  ...(['град/с', '°/с'] as const).map((w) => [w, 'dps'] as const),
  ...(['с', 'сек', '秒'] as const).map((w) => [w, 's'] as const),
  ...(['мс', '毫秒'] as const).map((w) => [w, 'ms'] as const),
  ...(['мкс', '微秒'] as const).map((w) => [w, 'us'] as const),
  ...(['%', 'percent', 'pct'] as const).map((w) => [w, 'percent'] as const),
])

/** Units that only tell that a row holds units. */
const OTHERS = new Set(
  'm m/s m/s2 m/s^2 m/s² g v volt volts a amp amps mv ma mah c °c degc k pa hpa bar rpm hz khz ut µt gauss deg ° rad degree degrees count counts raw lsb 1 unit none bool int float n nm w cm mm ft pwm'.split(
    ' ',
  ),
)

/** Units of voltage: they decide nothing but a voltage's own size. */
const VOLTS: ReadonlyMap<string, UnitId> = new Map<string, UnitId>([
  ...(['v', 'volt', 'volts', 'в', '伏'] as const).map((w) => [w, 'volt'] as const),
  ...(['mv', 'millivolt', 'millivolts', 'мв', '毫伏'] as const).map((w) => [w, 'millivolt'] as const),
  ...(['0.1v', 'dv', 'decivolt', 'decivolts', 'v/10'] as const).map((w) => [w, 'decivolt'] as const),
  ...(['0.01v', 'cv', 'centivolt', 'centivolts', 'v/100'] as const).map((w) => [w, 'centivolt'] as const),
])

/** Units of a motor's speed: they decide nothing else, and "Hz" may be a frequency of anything. */
const SPEEDS: ReadonlyMap<string, UnitId> = new Map<string, UnitId>([
  ...(['rpm', 'r/min', '1/min', 'rev/min', 'min-1', 'u/min', 'tr/min', 'об/мин'] as const).map(
    (w) => [w, 'rpm'] as const,
  ),
  ...(['100rpm', 'rpm/100', 'rpmx100', 'hrpm'] as const).map((w) => [w, 'rpm100'] as const),
  ...(['hz', 'rps', 'rev/s', 'revs/s', 'r/s', '1/s', 'turns/s', 'гц'] as const).map(
    (w) => [w, 'revps'] as const,
  ),
  ...(['erpm', 'electricalrpm', 'elecrpm', 'el.rpm'] as const).map((w) => [w, 'erpm'] as const),
  ...(['100erpm', 'erpm/100', 'erpmx100'] as const).map((w) => [w, 'erpm100'] as const),
  ...(['ehz', 'electricalhz', 'elechz'] as const).map((w) => [w, 'erevps'] as const),
])

/** The unit of a motor's speed that this text names, or null. */
export function speedUnitNamed(text: string): UnitId | null {
  return SPEEDS.get(bareUnit(text)) ?? null
}

/** The unit of voltage that this text names, or null. */
export function voltageUnitNamed(text: string): UnitId | null {
  return VOLTS.get(bareUnit(text)) ?? null
}

/** Takes a written unit's brackets, spaces and case off. */
function bareUnit(text: string): string {
  return text
    .trim()
    .replace(/^[([{<]+|[)\]}>]+$/g, '')
    .replaceAll(/[\s·]+/g, '')
    .toLowerCase()
    .replaceAll(/\^?⁻¹/g, '-1')
    .replaceAll('^-1', '-1')
}

/** The unit that this text names, or null. */
export function unitNamed(text: string): UnitId | null {
  return WORDS.get(bareUnit(text)) ?? null
}

/** True when a cell looks like a unit: for telling a row of units from a header. */
export function isUnitWord(text: string): boolean {
  const bare = bareUnit(text)
  return WORDS.has(bare) || OTHERS.has(bare) || VOLTS.has(bare) || SPEEDS.has(bare)
}
