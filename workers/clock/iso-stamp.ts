/**
 * Dates with a time of day, and times of day, as ISO 8601 writes them (and with the slashes, spaces and decimal
 * commas that loggers put in): 2024-05-01T17:30:00.25Z, 2024/05/01 17:30:00,25, 20240501T173000+0200, 17:30:00.5.
 */
const DATE_AND_TIME =
  /^(\d{4})([-/]?)(\d{2})\2(\d{2})(?:[T_]|\s+)(\d{2}):?(\d{2})(?::?(\d{2})(?:[.,](\d+))?)?\s*(?:(Z|UTC)|([+-])(\d{2}):?(\d{2})?)?$/i
const TIME = /^(\d{1,2}):(\d{2}):(\d{2})(?:[.,](\d+))?$/

/**
 * A stamp as decimal text in seconds, with every digit that it carries: since 1970-01-01 UTC for a date with a time
 * (one without a zone is taken as UTC), since midnight for a time alone. Null for anything else, a date alone and
 * days that no calendar has included. A leap second counts as the second after.
 */
export function isoSeconds(text: string): string | null {
  // A quick no for plain numbers, which are nearly all cells.
  if (text.length < 7) return null
  const whole = DATE_AND_TIME.exec(text)
  if (whole) {
    const [, year = '', , month = '', day = '', hour, minute, second, fraction] = whole
    const at_ms = Date.UTC(Number(year), Number(month) - 1, Number(day))
    const date = new Date(at_ms)
    if (date.getUTCMonth() !== Number(month) - 1 || date.getUTCDate() !== Number(day)) return null
    const ofDay = secondOfDay(hour, minute, second)
    if (ofDay === null) return null
    const zone = (Number(whole[11] ?? 0) * 60 + Number(whole[12] ?? 0)) * 60
    const seconds = at_ms / 1000 + ofDay - (whole[10] === '-' ? -zone : zone)
    return decimalText(seconds, fraction)
  }
  const time = TIME.exec(text)
  if (!time) return null
  const ofDay = secondOfDay(time[1], time[2], time[3])
  return ofDay === null ? null : decimalText(ofDay, time[4])
}

function secondOfDay(hour = '0', minute = '0', second = '0'): number | null {
  if (Number(hour) > 23 || Number(minute) > 59 || Number(second) > 60) return null
  return (Number(hour) * 60 + Number(minute)) * 60 + Number(second)
}

/** Before 1970 a fraction still adds: -1 s and 0.25 are -0.75. */
function decimalText(seconds: number, fraction = ''): string {
  if (fraction === '' || seconds >= 0) return fraction === '' ? `${seconds}` : `${seconds}.${fraction}`
  const digits = BigInt(seconds) * 10n ** BigInt(fraction.length) + BigInt(fraction)
  const text = (-digits).toString().padStart(fraction.length + 1, '0')
  return `-${text.slice(0, -fraction.length)}.${text.slice(-fraction.length)}`
}
