import { Problem } from '../../workers/log/problems.ts'
import type { LogStyle } from '../../workers/model/log-style.ts'
import { UNITS, unitsFor, type Quantity, type UnitId } from '../../workers/units/units.ts'

const KINDS: Record<'time' | 'rate' | 'stick' | 'share' | 'speed' | 'term', Quantity> = {
  time: 'time',
  rate: 'rate',
  stick: 'stick',
  share: 'motor',
  speed: 'speed',
  term: 'term',
}

/** Reads a list such as `rate=radps,share=bits16` into a style. Throws a Problem naming a wrong part. */
export function withUnits(style: LogStyle, list: string): LogStyle {
  let styled = style
  for (const part of list.split(',').filter((one) => one.trim() !== '')) {
    const [kind = '', id = ''] = part.trim().split('=', 2)
    if (!Object.hasOwn(KINDS, kind))
      throw bad(`There is no kind of unit "${kind}"; there are ${Object.keys(KINDS).join(', ')}.`)
    const name = kind as keyof typeof KINDS
    const choices = unitsFor(KINDS[name]).map((unit) => unit.id)
    if (!choices.includes(id)) throw bad(`units ${kind} is "${id}"; it must be one of ${choices.join(', ')}.`)
    const unit = id as UnitId
    styled = { ...styled, [name]: { unit, decimals: decimalsFor(style[name], unit) } }
  }
  return styled
}

/** Decimals that keep the fineness of the old unit in the new one. */
function decimalsFor(old: LogStyle['rate'], unit: UnitId): number {
  const step = 10 ** -old.decimals * UNITS[old.unit].scale
  const decimals = Math.ceil(-Math.log10(step / UNITS[unit].scale) - 1e-9)
  return Math.max(0, Math.min(9, decimals))
}

function bad(sentence: string): Problem {
  return new Problem('bad-request', sentence)
}
