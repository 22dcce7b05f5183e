import { Problem } from '../log/problems.ts'
import { boundOf, boundWords } from './bounds.ts'
import type { FlightSetup } from './flight.ts'

/**
 * A copy of a setup with one value replaced. `path` is as in the truth's `setup`, for instance
 * `tune.axes.roll.p`; `text` is a number, or `off` for a filter that may be left out, or a word such as
 * `linear` for `craft.motor.thrustLaw`. Throws a Problem naming what is wrong.
 */
export function withOverride(setup: FlightSetup, path: string, text: string): FlightSetup {
  const copy = structuredClone(setup)
  const parts = path.split('.')
  const last = parts.pop()!
  let holder: Record<string, unknown> = copy as unknown as Record<string, unknown>
  for (const part of parts) {
    const next = Object.hasOwn(holder, part) ? holder[part] : undefined
    if (typeof next !== 'object' || next === null || path.startsWith('orders')) throw noSuchParameter(path)
    holder = next as Record<string, unknown>
  }
  if (!Object.hasOwn(holder, last) || path === 'orders') throw noSuchParameter(path)
  holder[last] = parseValue(path, holder[last], text)
  return copy
}

const LEAVE_OUT = ['tune.gyroLowPass', 'tune.dLowPass_hz', 'tune.stickSmoothing_hz']

function parseValue(path: string, before: unknown, text: string): unknown {
  if (text === 'off' && LEAVE_OUT.includes(path)) return null
  if (path === 'craft.motor.thrustLaw') {
    if (text === 'linear' || text === 'propeller') return text
    throw new Problem('bad-request', `${path} is "${text}"; it must be linear or propeller.`)
  }
  if (path === 'craft.name') return text
  if (typeof before === 'object' && before !== null)
    throw new Problem(
      'bad-request',
      `${path} is a group of parameters; set one of them, for instance ${path}.${Object.keys(before)[0] ?? '0'}.`,
    )
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value)) {
    const limits = boundOf(path)
    const wanted = limits === undefined ? 'a number' : `a number ${boundWords(limits)}`
    throw new Problem('bad-request', `${path} is "${text}"; it must be ${wanted}.`)
  }
  return value
}

function noSuchParameter(path: string): Problem {
  return new Problem(
    'bad-request',
    `There is no parameter "${path}"; names are as in a truth file's setup, such as tune.axes.roll.p.`,
  )
}
