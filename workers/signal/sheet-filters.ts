import { groupDelay_s, lowPass1, lowPass2, notch, type Section } from './filters.ts'

/** One `name = value` of a settings sheet. */
export interface SheetEntry {
  readonly name: string
  readonly value: string
}

/** A filter that a settings sheet describes. */
export interface SheetFilter {
  /** The words before the filter's own, e.g. 'gyro' or 'D'; empty when there are none. */
  readonly place: string
  readonly kind: 'low-pass' | 'notch'
  readonly f_hz: number
  readonly order: 1 | 2
  readonly quality: number
  /** What was not in the sheet and was assumed, in plain words. */
  readonly assumed: readonly string[]
}

const LOW_PASS = /\b(low[\s_-]?pass|lpf?)\b/i
const NOTCH = /\bnotch\b/i
const ORDER = /\border\b/i
const QUALITY = /\b(q|quality|q[\s_-]?factor)\b/i
const FREQUENCY = /\b(hz|cut[\s_-]?off|corner|cent(re|er)|freq(uency)?|f)\b/i
const RATE = /\b(loop|filter|control)[\s_-]+(rate|frequency)\b/i

/** Names in one spelling: words apart by spaces, camel case taken apart. */
const spelled = (name: string): string =>
  name
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .replace(/[_.]+/g, ' ')
    .trim()

/**
 * Finds low-passes and notches in a settings sheet by the words of its names (low-pass or LP or LPF, notch; Hz, cut-off,
 * centre; order; quality or Q), several entries of one filter taken together by what they share. `off`, 0 or
 * no number leaves a filter out. Without an order a low-pass is taken as first order, without a quality a notch as Q 4, both
 * named in `assumed`.
 */
export function filtersInSheet(entries: readonly SheetEntry[]): SheetFilter[] {
  const groups = new Map<
    string,
    { place: string; kind: SheetFilter['kind']; f?: number; order?: number; quality?: number }
  >()
  for (const { name, value } of entries) {
    const words = spelled(name)
    const kind = NOTCH.test(words) ? 'notch' : LOW_PASS.test(words) ? 'low-pass' : null
    if (!kind) continue
    const own = kind === 'notch' ? NOTCH : LOW_PASS
    const found = own.exec(words)!
    const place = words.slice(0, found.index).trim()
    const number = /\d+/.exec(words.slice(found.index + found[0].length))?.[0] ?? ''
    const key = `${kind} ${place.toLowerCase()} ${number}`
    const group = groups.get(key) ?? { place, kind }
    groups.set(key, group)
    const amount = Number.parseFloat(value)
    if (!Number.isFinite(amount)) continue
    const rest = words.slice(found.index + found[0].length)
    if (ORDER.test(rest)) group.order = amount
    else if (QUALITY.test(rest)) group.quality = amount
    else if (FREQUENCY.test(rest) || rest.replace(/\d+/g, '').trim() === '') group.f = amount
  }
  return [...groups.values()].flatMap(({ place, kind, f, order, quality }): SheetFilter[] => {
    if (f === undefined || !(f > 0)) return []
    const assumed: string[] = []
    if (kind === 'low-pass' && order === undefined) assumed.push('first order')
    if (kind === 'notch' && quality === undefined) assumed.push('quality 4')
    return [
      {
        place,
        kind,
        f_hz: f,
        order: order === 2 || kind === 'notch' ? 2 : 1,
        quality: quality ?? (kind === 'notch' ? 4 : Math.SQRT1_2),
        assumed,
      },
    ]
  })
}

/** The rate at which the craft computes its filters, from the sheet; null when it does not say. */
export function loopRateInSheet(entries: readonly SheetEntry[]): number | null {
  for (const { name, value } of entries) {
    const rate_hz = Number.parseFloat(value)
    if (RATE.test(spelled(name)) && rate_hz > 0) return rate_hz
  }
  return null
}

/** The section that a described filter is, at the rate at which the craft runs it. */
export function sectionOf(filter: SheetFilter, rate_hz: number): Section {
  if (filter.kind === 'notch') return notch(filter.f_hz, rate_hz, filter.quality)
  return filter.order === 2 ? lowPass2(filter.f_hz, rate_hz, filter.quality) : lowPass1(filter.f_hz, rate_hz)
}

/** What filters cost in delay. */
export interface FilterDelay {
  readonly filter: SheetFilter
  /** Of slow movements. */
  readonly delay_ms: number
  /** At the frequency asked for. */
  readonly delayAt_ms: number
}

/** Delay of each filter at rest and at f_hz; filters whose frequency the rate does not carry are left out. */
export function filterDelays(filters: readonly SheetFilter[], rate_hz: number, f_hz: number): FilterDelay[] {
  return filters
    .filter((filter) => filter.f_hz < rate_hz / 2)
    .map((filter) => {
      const chain = [sectionOf(filter, rate_hz)]
      return {
        filter,
        delay_ms: 1000 * groupDelay_s(chain, 0, rate_hz),
        delayAt_ms: 1000 * groupDelay_s(chain, f_hz, rate_hz),
      }
    })
}
