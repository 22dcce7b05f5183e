/** The pilot's own shortcuts, kept by the desk. */
import * as v from 'valibot'
import { call } from '../desk/client.ts'
import { isKey, whyNotKey } from './command.ts'
import type { OwnKeys } from './key-bindings.svelte.ts'
import { commands } from './registry.svelte.ts'
import { undoStack } from './undo.svelte.ts'

export const KEY = 'shortcuts'
const keySchema = v.pipe(
  v.string(),
  v.maxLength(40),
  v.check(isKey),
  v.check((key) => whyNotKey(key) === null),
)
export const keptSchema = v.object({
  format: v.literal(1),
  keys: v.record(v.pipe(v.string(), v.maxLength(80)), v.pipe(v.array(keySchema), v.maxLength(4))),
})

/** What was kept, where it is whole; null for anything else. Throws nothing. */
export function parseKeptKeys(text: string): OwnKeys | null {
  let json: unknown
  try {
    json = JSON.parse(text)
  } catch {
    return null // not ours or half-written: the usual shortcuts hold
  }
  const kept = v.safeParse(keptSchema, json)
  return kept.success ? kept.output.keys : null
}

/** Puts the pilot's own shortcuts in force. @throws Problem when the desk does not answer */
export async function restoreKeys(): Promise<void> {
  const { value } = await call('kept.get', { key: KEY })
  const own = value === null ? null : parseKeptKeys(value)
  if (own) commands.bindings.own = own
}

/** Changes the pilot's own shortcuts, for undoing too. @throws Problem when they could not be kept */
export async function changeKeys(name: string, next: OwnKeys): Promise<void> {
  const before = commands.bindings.own
  await keep(next)
  undoStack.did({ name, undo: () => keep(before), redo: () => keep(next) })
}

async function keep(own: OwnKeys): Promise<void> {
  await call('kept.set', { key: KEY, value: JSON.stringify({ format: 1, keys: own }) })
  commands.bindings.own = own
}
