/**
 * What the pilot decided about comparisons, kept by the desk: edits of a flight's manoeuvres, what is declared before
 * looking, which flight repeats the settings of another. Every change is undoable, also when its screen is gone.
 */
import * as v from 'valibot'
import { editsKey, editsSchema } from '../../electron/desk/contract/edits.ts'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { ManoeuvreEdit } from '../../workers/manoeuvre/manoeuvre.ts'
import { MEASURE_IDS, type MeasureId } from '../../workers/verdict/measures.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'

const deltasSchema = v.record(v.picklist(MEASURE_IDS), v.pipe(v.number(), v.finite(), v.gtValue(0)))
const declaredSchema = v.object({
  deltas: deltasSchema,
  headline: v.nullable(v.array(v.picklist(MEASURE_IDS))),
  adjust: v.picklist(['Holm', 'none']),
})
const repeatSchema = v.nullable(v.object({ flightId: v.number(), of: v.number() }))

/** What is declared before looking; null headline: the usual ones. */
export interface Declared {
  readonly deltas: Partial<Record<MeasureId, number>>
  readonly headline: readonly MeasureId[] | null
  readonly adjust: 'Holm' | 'none'
}
/** A flight with the very settings of another, both by their number in the logbook. */
export interface RepeatChoice {
  readonly flightId: number
  readonly of: number
}

export const USUAL: Declared = { deltas: {}, headline: null, adjust: 'Holm' }

/** One thing that is kept: where, in which form, and what holds when nothing is. */
export interface Choice<T> {
  readonly key: string
  readonly schema: v.GenericSchema<unknown, T>
  readonly usual: T
}

/** Edits belong to a flight's samples: to its log and, where it is a part of it, to that part. */
export function editsOf(
  flight: Pick<FlightDetail, 'contentHash' | 'span'>,
): Choice<readonly ManoeuvreEdit[]> {
  return { key: editsKey(flight), schema: editsSchema, usual: [] }
}

export const DECLARED: Choice<Declared> = {
  key: 'declared before looking',
  schema: declaredSchema,
  usual: USUAL,
}

/** The repeat flight of a comparison, whichever of the two is A. */
export function repeatOf(flights: readonly [number, number]): Choice<RepeatChoice | null> {
  const [low, high] = [...flights].sort((x, y) => x - y)
  return { key: `repeat flight/${low}-${high}`, schema: repeatSchema, usual: null }
}

/** What was kept; what no longer fits (an older version's) counts as nothing. */
export async function keptChoice<T>({ key, schema, usual }: Choice<T>): Promise<T> {
  const { value } = await call('kept.get', { key })
  if (value === null) return usual
  const parsed = v.safeParse(schema, JSON.parse(value))
  return parsed.success ? parsed.output : usual
}

const listeners = new Set<(key: string) => Promise<void>>()

/** Calls back whenever a choice was changed, by whom ever; returns what ends that. */
export function onChoice(listener: (key: string) => Promise<void>): () => void {
  listeners.add(listener)
  return () => listeners.delete(listener)
}

/** One change of what is kept, as it is stored. */
export interface Change {
  readonly key: string
  readonly before: string
  readonly after: string
}

export function change<T>({ key }: Choice<T>, before: T, after: T): Change {
  return { key, before: JSON.stringify(before), after: JSON.stringify(after) }
}

/**
 * Keeps what was decided, has every open comparison follow, and lets it be undone under this name ("leave out a pair").
 * Several changes are one step of undo.
 *
 * @throws Problem when it can't be kept
 */
export async function decide(name: string, changes: readonly Change[]): Promise<void> {
  const keep = async (to: 'before' | 'after') => {
    for (const one of changes) await call('kept.set', { key: one.key, value: one[to] })
  }
  const follow = async () => {
    for (const { key } of changes) await Promise.all([...listeners].map((listener) => listener(key)))
  }
  const set = async (to: 'before' | 'after') => {
    await keep(to)
    await follow()
  }
  await keep('after')
  // Told before anything follows: what can be seen can be undone.
  undoStack.did({ name, undo: () => set('before'), redo: () => set('after') })
  await follow()
}
