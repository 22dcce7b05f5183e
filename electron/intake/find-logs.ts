import type { Dirent } from 'node:fs'
import { readdir, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { mayBeLog } from '../../workers/log/file-names.ts'
import { Problem } from '../../workers/log/problems.ts'

/** A file that may be a log, found in a folder. */
export interface FoundLog {
  readonly path: string
  readonly bytes: number
  /** Time of the last change, milliseconds since 1970. */
  readonly changed_ms: number
}

/** Deeper than any memory card; a loop of links ends here. */
const MOST_DEPTH = 40

/**
 * Walks a folder or a memory card, all levels, in the order of names. Hidden folders and links to folders are passed
 * over; a folder that can't be read is reported and the walk goes on.
 * @throws Problem not-a-file or cannot-read for the root itself, cancelled
 */
export async function* findLogs(
  root: string,
  options: { readonly signal?: AbortSignal; readonly onUnreadable?: (path: string) => void } = {},
): AsyncGenerator<FoundLog, void, void> {
  let entries: Dirent[]
  try {
    entries = await readdir(root, { withFileTypes: true })
  } catch (cause) {
    const isFile = (cause as NodeJS.ErrnoException).code === 'ENOTDIR'
    throw isFile
      ? new Problem('not-a-file', `${root} is a file, not a folder.`, {}, cause)
      : new Problem('cannot-read', `The folder ${root} can’t be read.`, {}, cause)
  }
  yield* walk(root, entries, 0, options)
}

async function* walk(
  folder: string,
  entries: Dirent[],
  depth: number,
  options: { readonly signal?: AbortSignal; readonly onUnreadable?: (path: string) => void },
): AsyncGenerator<FoundLog, void, void> {
  entries.sort((a, b) => (a.name < b.name ? -1 : 1))
  for (const entry of entries) {
    if (options.signal?.aborted) throw new Problem('cancelled', 'Looking for logs was cancelled.')
    if (entry.name.startsWith('.')) continue
    const path = join(folder, entry.name)
    if (entry.isDirectory()) {
      const inside = await entriesOf(path)
      if (!inside || depth >= MOST_DEPTH) options.onUnreadable?.(path)
      else yield* walk(path, inside, depth + 1, options)
    } else if (mayBeLog(entry.name)) {
      const found = await described(path)
      if (found) yield found
    }
  }
}

async function entriesOf(path: string): Promise<Dirent[] | null> {
  try {
    return await readdir(path, { withFileTypes: true })
  } catch (error) {
    // A card pulled out or a folder of another user: reported by the caller, whatever the code is.
    if ((error as NodeJS.ErrnoException).code !== undefined) return null
    throw error
  }
}

/** Null for what is no ordinary file, or has gone since the folder was listed. */
async function described(path: string): Promise<FoundLog | null> {
  const status = await stat(path).catch(() => null)
  return status?.isFile() ? { path, bytes: status.size, changed_ms: status.mtimeMs } : null
}
