import { open, readdir } from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'
import { besideLog } from '../../workers/settings/beside-log.ts'
import { looksLikeSheet } from '../../workers/settings/parse-sheet.ts'

/** More than this is no settings sheet. Characters and, before they are known, bytes. */
export const MOST_CHARACTERS = 200_000

/**
 * The settings sheet that lies beside a log: the first file of the log's own name (see `besideLog`) that holds at least two
 * settings and little else. Null when there is none, or when the folder can't be read: the log is read all the same.
 */
export async function settingsBeside(
  path: string,
): Promise<{ name: string; text: string; how: string } | null> {
  const folder = dirname(path)
  const names = await readdir(folder).catch((error: unknown) => {
    if ((error as NodeJS.ErrnoException).code !== undefined) return []
    throw error
  })
  for (const name of besideLog(basename(path), names)) {
    const text = await sheetText(join(folder, name))
    if (text !== null) return { name, text, how: howBeside(basename(path)) }
  }
  return null
}

/** Whether this file is the settings sheet of one of these logs, all of one folder; the log's name, or null. */
export async function logOfSheet(path: string, logNames: readonly string[]): Promise<string | null> {
  const name = basename(path)
  const log = logNames.find((other) => other !== name && besideLog(other, [name]).length > 0)
  return log !== undefined && (await sheetText(path)) !== null ? log : null
}

export const howBeside = (logName: string): string =>
  `Found beside ${logName}: it has the log's own name and holds settings.`

/** The text of a small file that looks like settings, or null. */
async function sheetText(path: string): Promise<string | null> {
  try {
    const file = await open(path)
    try {
      const { size } = await file.stat()
      if (size === 0 || size > MOST_CHARACTERS) return null
      const text = await file.readFile('utf8')
      return looksLikeSheet(text) ? text : null
    } finally {
      await file.close()
    }
  } catch (error) {
    // A folder of that name, another user's file: not ours to complain about.
    if ((error as NodeJS.ErrnoException).code !== undefined) return null
    throw error
  }
}
