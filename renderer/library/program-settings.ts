/** The settings of the program in one readable file: written, checked, taken in, taken back. */
import * as v from 'valibot'
import { glossarySchema } from '../../electron/desk/contract/changes.ts'
import { Problem } from '../../workers/log/problems.ts'
import { KEY as KEYS_KEY, keptSchema as keysSchema, parseKeptKeys } from '../commands/kept-keys.ts'
import { commands } from '../commands/registry.svelte.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'
import { session } from '../session.svelte.ts'
import { choicesSchema, SHARE_KEY } from '../share/choices.ts'
import { theme } from '../theme/theme.svelte.ts'
import { DECLARED } from '../verdict/choices.ts'

export const SETTINGS_FORMAT = 1

/** What stands in the file. What is left out stays as it is when the file is taken in; anything else is refused. */
export const settingsSchema = v.strictObject({
  program: v.literal('Twopack'),
  format: v.literal(SETTINGS_FORMAT),
  theme: v.exactOptional(v.picklist(['system', 'light', 'dark'])),
  /** Shortcuts of the pilot's own, by command. */
  shortcuts: v.exactOptional(keysSchema.entries.keys),
  /** Differences that matter, by measure, each in its unit; headline measures; how their p values are adjusted. */
  declaredBeforeLooking: v.exactOptional(DECLARED.schema),
  sharing: v.exactOptional(choicesSchema),
  glossary: v.exactOptional(glossarySchema),
})
export type ProgramSettings = v.InferOutput<typeof settingsSchema>

const LARGEST_BYTES = 2_000_000

/** A settings file's text. @throws Problem bad-request, too-large, with one sentence */
export function parseSettings(text: string): ProgramSettings {
  if (text.length > LARGEST_BYTES) throw new Problem('too-large', 'The file is too large to hold settings.')
  let said: unknown
  try {
    said = JSON.parse(text)
  } catch (error) {
    throw new Problem('bad-request', 'The file holds no settings of Twopack: it is not JSON.', {}, error)
  }
  const newer = v.safeParse(v.object({ format: v.pipe(v.number(), v.gtValue(SETTINGS_FORMAT)) }), said)
  if (newer.success)
    throw new Problem('bad-request', 'These settings were written by a newer Twopack; please update.')
  const parsed = v.safeParse(settingsSchema, said)
  if (parsed.success) return parsed.output
  const where = v.getDotPath(parsed.issues[0])
  throw new Problem(
    'bad-request',
    where === null
      ? 'The file holds no settings of Twopack.'
      : `The settings do not fit at "${where.slice(0, 80)}"; nothing was changed.`,
  )
}

/** The settings in force. What was never set is left out. */
export async function currentSettings(): Promise<ProgramSettings> {
  const keptAs = async <T>(key: string, schema: v.GenericSchema<unknown, T>): Promise<T | null> => {
    const { value } = await call('kept.get', { key })
    const parsed = value === null ? null : v.safeParse(schema, JSON.parse(value))
    return parsed?.success ? parsed.output : null
  }
  const { value: keys } = await call('kept.get', { key: KEYS_KEY })
  const shortcuts = keys === null ? null : parseKeptKeys(keys)
  const declared = await keptAs(DECLARED.key, DECLARED.schema)
  const sharing = await keptAs(SHARE_KEY, choicesSchema)
  const { glossary } = await call('glossary.get', {})
  return {
    program: 'Twopack',
    format: SETTINGS_FORMAT,
    theme: theme.choice,
    ...(shortcuts && { shortcuts: shortcuts as NonNullable<ProgramSettings['shortcuts']> }),
    ...(declared && { declaredBeforeLooking: declared }),
    ...(sharing && { sharing }),
    ...(glossary.length > 0 && { glossary }),
  }
}

/** Puts settings in force, and tells how to take that back. @throws Problem when they could not be kept */
export async function takeSettings(settings: ProgramSettings): Promise<void> {
  const before = await currentSettings()
  await put(settings)
  // What had never been set goes back to that.
  const cleared = {
    ...(settings.shortcuts && { shortcuts: {} }),
    ...(settings.declaredBeforeLooking && { declaredBeforeLooking: DECLARED.usual }),
    ...(settings.glossary && { glossary: [] }),
  }
  undoStack.did({
    name: 'take settings from a file',
    undo: () => put({ ...cleared, ...before }),
    redo: () => put(settings),
  })
}

async function put(settings: ProgramSettings): Promise<void> {
  const { theme: look, shortcuts, declaredBeforeLooking, sharing, glossary } = settings
  const keep = (key: string, value: unknown) => call('kept.set', { key, value: JSON.stringify(value) })
  if (declaredBeforeLooking) await keep(DECLARED.key, declaredBeforeLooking)
  if (sharing) await keep(SHARE_KEY, sharing)
  if (glossary) await call('glossary.set', { glossary })
  if (shortcuts) {
    await keep(KEYS_KEY, { format: 1, keys: shortcuts })
    commands.bindings.own = shortcuts
  }
  if (look) session.setTheme(look)
}
