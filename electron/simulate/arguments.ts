import { parseArgs } from 'node:util'
import { Problem } from '../../workers/log/problems.ts'
import type { SimulationRequest } from '../../workers/model/simulate-scenario.ts'
import { DEMO_STYLE, FINE_STYLE, HEADER_STYLES, type LogStyle } from '../../workers/model/log-style.ts'
import { parseFaults } from './fault-list.ts'
import { withUnits } from './unit-list.ts'

export type Command =
  | { readonly what: 'help' }
  | { readonly what: 'list' }
  | { readonly what: 'fly'; readonly request: SimulationRequest; readonly out: string }

const OPTIONS = {
  scenario: { type: 'string' },
  seed: { type: 'string', default: '1' },
  out: { type: 'string' },
  rate: { type: 'string' },
  noise: { type: 'string' },
  set: { type: 'string', multiple: true, default: [] as string[] },
  fine: { type: 'boolean', default: false },
  words: { type: 'string' },
  units: { type: 'string' },
  separator: { type: 'string' },
  fault: { type: 'string' },
  list: { type: 'boolean', default: false },
  help: { type: 'boolean', default: false },
} as const

/** Options that change a flight or its log; the demo has none of them, as it is always the same trail. */
const NOT_FOR_DEMO = ['rate', 'noise', 'words', 'units', 'separator', 'fault'] as const

/** Reads the command line. Throws a Problem ('bad-request') naming what is wrong. */
export function readArguments(args: readonly string[]): Command {
  const values = parse(args)
  if (values.help) return { what: 'help' }
  if (values.list) return { what: 'list' }
  const { scenario, out } = values
  if (scenario === undefined || out === undefined)
    throw bad('A scenario and a folder are needed: npm run simulate -- --scenario NAME --seed N --out DIR')
  if (scenario === 'demo') {
    const extra = NOT_FOR_DEMO.find((name) => values[name] !== undefined)
    const named = extra ?? (values.set.length > 0 ? 'set' : values.fine ? 'fine' : undefined)
    if (named !== undefined) throw bad(`The demo takes --seed only, not --${named}.`)
  }
  const seed = Number(values.seed)
  if (values.seed.trim() === '' || !Number.isInteger(seed) || seed < 0 || seed > 4294967295)
    throw bad(`seed is "${values.seed}"; it must be a whole number between 0 and 4294967295.`)
  return {
    what: 'fly',
    out,
    request: {
      scenario,
      seed,
      style: styleOf(values),
      faults: parseFaults(values.fault ?? ''),
      overrides: overridesOf(values),
    },
  }
}

type Values = ReturnType<typeof parse>

function parse(args: readonly string[]) {
  try {
    return parseArgs({ args: [...args], options: OPTIONS, strict: true }).values
  } catch (error) {
    // Node's own sentence names the option that it does not know.
    throw bad(error instanceof Error ? error.message : String(error))
  }
}

function styleOf(values: Values): LogStyle {
  let style = values.fine ? FINE_STYLE : DEMO_STYLE
  // Stamps of a log faster than the millisecond need finer ones.
  if (!values.fine && Number(values.rate ?? 1000) !== 1000) style = { ...style, time: FINE_STYLE.time }
  if (values.words !== undefined) {
    if (!Object.hasOwn(HEADER_STYLES, values.words))
      throw bad(`words is "${values.words}"; it must be one of ${Object.keys(HEADER_STYLES).join(', ')}.`)
    style = { ...style, words: HEADER_STYLES[values.words as keyof typeof HEADER_STYLES] }
  }
  if (values.separator !== undefined) style = { ...style, ...separatorOf(values.separator) }
  return withUnits(style, values.units ?? '')
}

function separatorOf(word: string): Pick<LogStyle, 'separator' | 'decimal'> {
  if (word === 'comma') return { separator: ',', decimal: '.' }
  if (word === 'semicolon') return { separator: ';', decimal: ',' }
  if (word === 'tab') return { separator: '\t', decimal: '.' }
  throw bad(`separator is "${word}"; it must be comma, semicolon or tab.`)
}

function overridesOf(values: Values): [string, string][] {
  const overrides = values.set.map((text): [string, string] => {
    const at = text.indexOf('=')
    if (at < 1) throw bad(`--set takes NAME=VALUE, not "${text}".`)
    return [text.slice(0, at), text.slice(at + 1)]
  })
  if (values.rate !== undefined) overrides.push(['logRate_hz', values.rate])
  if (values.noise !== undefined) overrides.push(['noise', values.noise])
  return overrides
}

function bad(sentence: string): Problem {
  return new Problem('bad-request', sentence)
}
