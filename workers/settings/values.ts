/** What a value says beyond its text. */
export type Value =
  | { readonly kind: 'number'; readonly number: number; readonly unit: string }
  | { readonly kind: 'list'; readonly numbers: readonly number[] }
  | { readonly kind: 'switch'; readonly on: boolean }
  | { readonly kind: 'text' }

const NUMBER = String.raw`[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?`
const WITH_UNIT = new RegExp(String.raw`^(${NUMBER})\s*([\p{L}%°µ][\p{L}\d%°µ/^²*.-]{0,11})?$`, 'u')
const ONE = new RegExp(`^${NUMBER}$`)
const ON = /^(?:on|true|yes|enabled?|active)$/i
const OFF = /^(?:off|false|no|disabled?|inactive|none)$/i

/** Reads a value: a number with or without a unit, a list of numbers (in any brackets), a switch, or text. */
export function readValue(text: string): Value {
  const trimmed = text.trim()
  const found = WITH_UNIT.exec(trimmed)
  if (found && Number.isFinite(Number(found[1])))
    return { kind: 'number', number: Number(found[1]), unit: found[2] ?? '' }
  if (ON.test(trimmed)) return { kind: 'switch', on: true }
  if (OFF.test(trimmed)) return { kind: 'switch', on: false }
  const inside = /^[[({](.*)[\])}]$/s.exec(trimmed)?.[1] ?? trimmed
  const parts = inside.trim().split(/\s*[,;|]\s*|\s+/)
  if (parts.length > 1 && parts.every((part) => ONE.test(part)))
    return { kind: 'list', numbers: parts.map(Number) }
  return { kind: 'text' }
}

/** Whether two values say the same: 1.0 and 1, ON and on, [1,2] and "1 2". */
export function sameValue(a: string, b: string): boolean {
  if (a.trim() === b.trim()) return true
  const x = readValue(a)
  const y = readValue(b)
  if (x.kind === 'number' && y.kind === 'number') return x.number === y.number && x.unit === y.unit
  if (x.kind === 'switch' && y.kind === 'switch') return x.on === y.on
  if (x.kind === 'list' && y.kind === 'list')
    return x.numbers.length === y.numbers.length && x.numbers.every((one, at) => one === y.numbers[at])
  return false
}
