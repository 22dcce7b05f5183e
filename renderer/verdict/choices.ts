/** What the pilot decided about a comparison, kept by the desk: edits of manoeuvres per log, differences that matter. */
import * as v from 'valibot'
import { MANOEUVRE_KINDS, type ManoeuvreEdit } from '../../workers/manoeuvre/manoeuvre.ts'
import { MEASURE_IDS, type MeasureId } from '../../workers/verdict/measures.ts'
import { call } from '../desk/client.ts'

const editsSchema = v.array(
  v.object({
    id: v.string(),
    kind: v.exactOptional(v.picklist(MANOEUVRE_KINDS)),
    leaveOut: v.exactOptional(v.boolean()),
  }),
)
const deltasSchema = v.record(v.picklist(MEASURE_IDS), v.pipe(v.number(), v.finite(), v.minValue(0)))

export type Deltas = Partial<Record<MeasureId, number>>

const editsKey = (contentHash: string) => `manoeuvres/${contentHash}`
const DELTAS_KEY = 'differences that matter'

/** What was kept under a key; what no longer fits (an older version's) counts as nothing. */
async function kept<T>(key: string, schema: v.GenericSchema<unknown, T>, otherwise: T): Promise<T> {
  const { value } = await call('kept.get', { key })
  if (value === null) return otherwise
  const parsed = v.safeParse(schema, JSON.parse(value))
  return parsed.success ? parsed.output : otherwise
}

export const loadEdits = (contentHash: string): Promise<ManoeuvreEdit[]> =>
  kept<ManoeuvreEdit[]>(editsKey(contentHash), editsSchema, [])

export const loadDeltas = (): Promise<Deltas> => kept<Deltas>(DELTAS_KEY, deltasSchema, {})

export async function keepEdits(contentHash: string, edits: readonly ManoeuvreEdit[]): Promise<void> {
  await call('kept.set', { key: editsKey(contentHash), value: JSON.stringify(edits) })
}

export async function keepDeltas(deltas: Deltas): Promise<void> {
  await call('kept.set', { key: DELTAS_KEY, value: JSON.stringify(deltas) })
}
