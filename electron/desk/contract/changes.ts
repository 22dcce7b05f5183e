/** The trail of changes and the pilot's glossary, as they cross between window and desk and as they are stored. */
import * as v from 'valibot'
import type { Change } from '../../../workers/changes/change.ts'
import type { GlossaryEntry } from '../../../workers/settings/glossary.ts'
import type { MeasureKey } from '../../../workers/verdict/comparison.ts'
import { MEASURE_IDS } from '../../../workers/verdict/measures.ts'
import { flightIdSchema, flightSummarySchema, preambleEntrySchema } from './schemas.ts'

const finite = v.pipe(v.number(), v.finite())
const count = v.pipe(v.number(), v.integer(), v.minValue(0))
const line = v.pipe(v.string(), v.maxLength(400))
const text = v.pipe(v.string(), v.maxLength(8000))
const axis = v.picklist(['roll', 'pitch', 'yaw'])
const word = v.picklist(['better', 'worse', 'no clear difference', "can't tell"])

const flightOfChangeSchema = v.object({
  flightId: flightIdSchema,
  contentHash: v.pipe(v.string(), v.maxLength(128)),
  name: line,
  flownAt_ms: v.nullable(finite),
})

const measureKeySchema = v.custom<MeasureKey>((key) => {
  const [id, of] = typeof key === 'string' ? key.split('.') : []
  return MEASURE_IDS.some((known) => known === id) && ['roll', 'pitch', 'yaw', 'craft'].includes(of ?? '')
}, 'is no measure')

const keptMeasureSchema = v.object({
  key: measureKeySchema,
  label: line,
  axis: v.nullable(axis),
  unit: line,
  digits: count,
  good: v.picklist(['lower', 'higher', 'neither']),
  headline: v.boolean(),
  a: v.nullable(finite),
  b: v.nullable(finite),
  effect: v.nullable(finite),
  low: v.nullable(finite),
  high: v.nullable(finite),
  coverage: v.nullable(finite),
  delta: finite,
  floor: v.nullable(finite),
  pairs: count,
  word,
  reason: text,
})

const keptVerdictSchema = v.object({
  judgedAt_ms: finite,
  method: v.object({ id: line, version: count }),
  a: line,
  b: line,
  repeat: v.nullable(line),
  word: v.picklist([...word.options, 'better and worse']),
  sentence: text,
  reading: v.array(text),
  cautions: v.array(text),
  pairs: count,
  measures: v.pipe(v.array(keptMeasureSchema), v.maxLength(200)),
})

const MOST_FLIGHTS = 100

export const changeSchema = v.object({
  id: v.pipe(v.string(), v.regex(/^[\w-]{1,64}$/)),
  craft: line,
  madeAt_ms: finite,
  what: text,
  settings: v.pipe(
    v.array(v.object({ name: text, a: v.nullable(text), b: v.nullable(text) })),
    v.maxLength(5000),
  ),
  why: text,
  expectation: text,
  note: text,
  before: v.pipe(v.array(flightOfChangeSchema), v.maxLength(MOST_FLIGHTS)),
  after: v.pipe(v.array(flightOfChangeSchema), v.maxLength(MOST_FLIGHTS)),
  verdict: v.nullable(keptVerdictSchema),
  earlier: v.pipe(v.array(keptVerdictSchema), v.maxLength(50)),
  undone: v.nullable(v.object({ at_ms: finite, why: text })),
  takesBack: v.nullable(v.string()),
  best: v.boolean(),
})

export const glossaryEntrySchema = v.object({
  pattern: v.pipe(line, v.nonEmpty()),
  meaning: line,
  unit: line,
  low: v.nullable(finite),
  high: v.nullable(finite),
})
export const glossarySchema = v.pipe(v.array(glossaryEntrySchema), v.maxLength(2000))

/** A flight of a craft with what its settings are read from. */
const sheetFlightSchema = v.object({
  flight: flightSummarySchema,
  contentHash: v.string(),
  settings: v.nullable(v.object({ name: v.string(), text: v.string() })),
  preamble: v.array(preambleEntrySchema),
})
export type SheetFlight = v.InferOutput<typeof sheetFlightSchema>

const nothing = v.object({})

export const CHANGE_CALLS = {
  /** The changes of a craft ('' for flights without one), oldest first; the first craft that has any for null. */
  'changes.list': {
    request: v.object({ craft: v.nullable(line) }),
    response: v.object({
      craft: v.string(),
      changes: v.array(changeSchema),
      /** Ids of the flights named in them that are in the logbook. */
      present: v.array(flightIdSchema),
      crafts: v.array(v.object({ craft: v.string(), changes: count, flights: count })),
    }),
  },
  /** Adds a change, or puts it in the place of the one with its id. */
  'changes.put': { request: v.object({ change: changeSchema }), response: nothing },
  'changes.remove': { request: v.object({ id: v.string() }), response: nothing },
  /** A craft's flights in the order flown, the newest few hundred, with their settings. */
  'changes.sheets': {
    request: v.object({ craft: line }),
    response: v.object({ flights: v.array(sheetFlightSchema) }),
  },
  'glossary.get': { request: nothing, response: v.object({ glossary: glossarySchema }) },
  'glossary.set': { request: v.object({ glossary: glossarySchema }), response: nothing },
} as const

/** Compile-time proof that the plain types and the schemas say the same. */
type Same<A, B> = [A] extends [B] ? true : never
export const CHANGES_MATCH_TYPES: [
  Same<v.InferOutput<typeof changeSchema>, Change>,
  Same<v.InferOutput<typeof glossaryEntrySchema>, GlossaryEntry>,
] = [true, true]
