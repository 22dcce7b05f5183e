/** What the pilot chose to share, kept between comparisons; title and note are kept for each pair of logs. */
import * as v from 'valibot'
import { USUAL_PARTS } from '../../workers/comparison/picture-parts.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { call } from '../desk/client.ts'

export const WIDTHS_PX = [1200, 1600] as const
export const SPANS = ['visible', 'marked', 'whole', 'pair'] as const
export type SpanChoice = (typeof SPANS)[number]

const text = v.pipe(v.string(), v.maxLength(200))

export const choicesSchema = v.object({
  parts: v.object({
    axes: v.pipe(v.array(v.picklist(AXES)), v.minLength(1)),
    throttle: v.boolean(),
    motors: v.boolean(),
    spectrograms: v.boolean(),
    measures: v.boolean(),
    verdict: v.boolean(),
    settings: v.boolean(),
    names: v.boolean(),
    craft: v.boolean(),
    dates: v.boolean(),
  }),
  theme: v.picklist(['light', 'dark']),
  width_px: v.picklist(WIDTHS_PX),
  span: v.picklist(SPANS),
  /** Columns of an excerpt that the pilot took out, or added; never those that may tell who or where. */
  excerpt: v.object({
    without: v.pipe(v.array(text), v.maxLength(500)),
    also: v.pipe(v.array(text), v.maxLength(500)),
    gzip: v.boolean(),
  }),
})
export type Choices = v.InferOutput<typeof choicesSchema>

const wordsSchema = v.object({ title: v.string(), note: v.string() })
export type Words = v.InferOutput<typeof wordsSchema>

export const LONGEST = { title: 160, note: 600 } as const

export const SHARE_KEY = 'share'
const wordsKey = (hashA: string, hashB: string) => `share words/${hashA}/${hashB}`

export const usualChoices = (theme: 'light' | 'dark'): Choices => ({
  parts: { ...USUAL_PARTS, axes: [...USUAL_PARTS.axes] },
  theme,
  width_px: 1200,
  span: 'visible',
  excerpt: { without: [], also: [], gzip: false },
})

/** What was kept; an older version's that no longer fits counts as nothing. */
async function kept<T>(key: string, schema: v.GenericSchema<unknown, T>): Promise<T | null> {
  const { value } = await call('kept.get', { key })
  if (value === null) return null
  const parsed = v.safeParse(schema, JSON.parse(value))
  return parsed.success ? parsed.output : null
}

export async function loadChoices(theme: 'light' | 'dark'): Promise<Choices> {
  return (await kept(SHARE_KEY, choicesSchema)) ?? usualChoices(theme)
}

export async function keepChoices(choices: Choices): Promise<void> {
  await call('kept.set', { key: SHARE_KEY, value: JSON.stringify(choices) })
}

export async function loadWords(hashA: string, hashB: string): Promise<Words> {
  return (await kept(wordsKey(hashA, hashB), wordsSchema)) ?? { title: '', note: '' }
}

export async function keepWords(hashA: string, hashB: string, words: Words): Promise<void> {
  await call('kept.set', { key: wordsKey(hashA, hashB), value: JSON.stringify(words) })
}
