import { call } from '../desk/client.ts'
import { isProblem } from '../../workers/log/problems.ts'
import * as v from 'valibot'

/** What was kept under a key, where it still fits; null otherwise: an older version's state is not worth a message. */
export async function loadKept<Schema extends v.GenericSchema>(
  key: string,
  schema: Schema,
): Promise<v.InferOutput<Schema> | null> {
  const { value } = await call('kept.get', { key })
  if (!value) return null
  const kept = v.safeParse(schema, JSON.parse(value))
  return kept.success ? kept.output : null
}

const waiting = new Map<string, { value: unknown; timer: ReturnType<typeof setTimeout> }>()
/** A drag's many changes are written once it has stood still for so long. */
const SETTLE_MS = 250

// What has not been written yet must not be lost with the window.
globalThis.addEventListener?.('pagehide', () => {
  for (const key of waiting.keys()) write(key, true)
})

/** Keeps a value, a moment later or when the window closes. */
export function keepSoon(key: string, value: unknown): void {
  clearTimeout(waiting.get(key)?.timer)
  waiting.set(key, { value, timer: setTimeout(() => write(key, false), SETTLE_MS) })
}

function write(key: string, windowCloses: boolean): void {
  const due = waiting.get(key)
  if (!due) return
  clearTimeout(due.timer)
  waiting.delete(key)
  const value = JSON.stringify(due.value)
  call('kept.set', { key, value }, { keepalive: windowCloses }).catch((error: unknown) => {
    // A layout that is not kept is no reason to interrupt the pilot; anything else is a fault of ours.
    if (!isProblem(error)) throw error
    console.warn(error.message)
  })
}
