import { stat } from 'node:fs/promises'
import { basename, dirname, sep } from 'node:path'
import { isProblem, Problem } from '../../workers/log/problems.ts'
import { findLogs, type FoundLog } from '../intake/find-logs.ts'
import { logOfSheet } from '../intake/settings-beside.ts'
import type { Library } from '../library/library.ts'
import type { Source } from '../library/sources.ts'
import type { Incoming } from './contract/schemas.ts'
import type { IncomingFiles, Work } from './incoming.ts'

/** More files than this are not looked through: a folder like that is a whole disk, chosen by mistake. */
export const MOST_FILES = 20_000

/** What a look through a folder came to. */
export interface ScanResult {
  /** Files that may be logs. */
  readonly found: number
  readonly added: number
  /** Files that were changed so lately that they may still be written: another look is needed. */
  readonly unsettled: number
  /** Folders that could not be read. */
  readonly unreadable: readonly string[]
}

export interface ScanOptions {
  readonly library: Library
  readonly incoming: IncomingFiles
  readonly work: Work
  /** Files changed later than this, milliseconds since 1970, are left for the next look. */
  readonly settledBefore_ms: number
  readonly now_ms: () => number
  /** A flight was added, or a log's place changed. */
  readonly onChange: () => void
}

/**
 * Looks through a folder, all levels: new logs are added, moved ones are known again by their content, those that are
 * gone are missed. A file is only opened when its size or time differ from what was seen last. What is no log is kept
 * in mind with its sentence.
 *
 * @throws Problem cannot-read or not-a-file for the folder itself (its logs then count as missing), too-large, cancelled
 */
export async function scanFolder(root: string, options: ScanOptions): Promise<ScanResult> {
  const { library, work, onChange } = options
  const unreadable: string[] = []
  const found = await listed(root, options, unreadable)
  const here = new Set(found.map(({ path }) => path))
  const namesIn = Map.groupBy(
    found.map(({ path }) => path),
    dirname,
  )
  let added = 0
  let unsettled = 0
  for (const [index, log] of found.entries()) {
    if (work.signal.aborted) throw new Problem('cancelled', 'Cancelled.')
    work.report({ phase: `Looking at file ${index + 1} of ${found.length}`, done: index / found.length })
    const before = library.sources.at(log.path)
    if (before && isSettled(before, log, library)) continue
    if (log.changed_ms > options.settledBefore_ms) {
      unsettled += 1
      continue
    }
    if (await isSheet(log, namesIn.get(dirname(log.path)) ?? [], options)) continue
    if (await takeIn(log, options)) added += 1
    onChange()
  }
  const isInUnreadable = (path: string) => unreadable.some((folder) => path.startsWith(folder + sep))
  for (const { path, state } of library.sources.under(root)) {
    if (here.has(path) || state === 'missing' || isInUnreadable(path)) continue
    library.sources.miss(path)
    onChange()
  }
  return { found: found.length, added, unsettled, unreadable }
}

/** Whether a file is as it was seen last, and nothing is left to do with it. */
function isSettled(before: Source, log: FoundLog, library: Library): boolean {
  if (before.bytes !== log.bytes || before.changed_ms !== log.changed_ms) return false
  if (before.state === 'refused') return true
  const hash = before.contentHash
  return (
    before.state === 'here' &&
    hash !== null &&
    (library.findByContent(hash) !== null || library.sources.isLeftOut(hash))
  )
}

/** A settings sheet beside its log is kept with that log's flights, and is no log that could not be read. */
async function isSheet(file: FoundLog, paths: readonly string[], { library, now_ms }: ScanOptions) {
  const names = paths.map((path) => basename(path))
  const log = await logOfSheet(file.path, names)
  if (log === null) return false
  const { path, bytes, changed_ms } = file
  const problem = `No log: the settings sheet of ${log}.`
  library.sources.see({ path, contentHash: null, bytes, changed_ms, state: 'refused', problem }, now_ms())
  return true
}

/** Takes one file in: true when it was a log that was not in the logbook yet. */
async function takeIn(log: FoundLog, { library, incoming, work, now_ms }: ScanOptions): Promise<boolean> {
  const { path, bytes, changed_ms } = log
  let opened: Incoming | null = null
  try {
    opened = await incoming.open(path, { ...work, report: () => {} })
    const contentHash = incoming.contentOf(opened.incomingId)
    let isNew = false
    if (opened.known || library.sources.isLeftOut(contentHash)) await incoming.discard(opened.incomingId)
    else {
      await incoming.index(opened.incomingId, null, { ...work, report: () => {} })
      isNew = true
    }
    library.sources.see({ path, contentHash, bytes, changed_ms, state: 'here', problem: null }, now_ms())
    return isNew
  } catch (error) {
    if (opened) await incoming.discard(opened.incomingId)
    // A full disk or a cancelled look says nothing about the file: it is looked at again next time.
    if (!isProblem(error) || error.code === 'cancelled' || error.code === 'disk') throw error
    library.sources.see(
      { path, contentHash: null, bytes, changed_ms, state: 'refused', problem: error.message },
      now_ms(),
    )
    return false
  }
}

async function listed(root: string, { library, work, onChange }: ScanOptions, unreadable: string[]) {
  work.report({ phase: 'Looking for logs', done: 0 })
  const found: FoundLog[] = []
  try {
    for await (const log of findLogs(root, {
      signal: work.signal,
      onUnreadable: (path) => unreadable.push(path),
    })) {
      found.push(log)
      if (found.length > MOST_FILES) {
        const limit = MOST_FILES.toLocaleString('en-US')
        throw new Problem(
          'too-large',
          `${root} holds more than ${limit} files; choose a folder with logs only.`,
        )
      }
    }
  } catch (error) {
    if (isProblem(error) && (error.code === 'cannot-read' || error.code === 'not-a-file')) {
      for (const { path } of library.sources.under(root)) library.sources.miss(path)
      onChange()
    }
    throw error
  }
  return found
}

/**
 * Sees whether the logs that were opened by their path are still where they were, and unchanged. One that differs is
 * not read again by itself: its flights are shown as changed.
 */
export async function checkPlaces(
  library: Library,
  hashOf: (path: string) => Promise<string>,
  signal: AbortSignal,
): Promise<void> {
  for (const source of library.sources.all()) {
    if (source.state === 'refused') continue
    const { path } = source
    const found = await stat(path).catch(() => null)
    if (signal.aborted) return
    if (!found?.isFile()) {
      library.sources.miss(path)
      continue
    }
    const place = { path, bytes: found.size, changed_ms: found.mtimeMs, problem: null }
    const isSame = place.bytes === source.bytes && place.changed_ms === source.changed_ms
    if (isSame && source.state === 'here') continue
    // A file that can't be read any more is as good as gone.
    const contentHash = await hashOf(path).catch((error: unknown) => {
      if (isProblem(error)) return null
      throw error
    })
    if (signal.aborted) return
    if (contentHash === null) library.sources.miss(path)
    else library.sources.see({ ...place, contentHash, state: 'here' }, Date.now())
  }
}
