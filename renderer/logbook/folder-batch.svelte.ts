import { isProblem, Problem } from '../../workers/log/problems.ts'
import type { SettingsText } from '../../electron/desk/contract/schemas.ts'
import { mayBeLog } from '../../workers/log/file-names.ts'
import { call, sendFile, stream } from '../desk/client.ts'
import type { FolderFile } from './dropped-files.ts'
import { pairSheets } from './sheets-beside.ts'

/** More files than this are not taken at once: a folder like that is a whole disk, dropped by mistake. */
export const MOST_FILES = 2000

/**
 * A folder of logs on its way into the logbook: each file is sent, looked at and added with what the program assumes
 * of its columns, which is marked in the list where it is not sure. One after the other; what is no log is told.
 */
export class FolderBatch {
  readonly key = crypto.randomUUID()
  readonly name: string
  state = $state<'counting' | 'taking' | 'done' | 'cancelled'>('counting')
  total = $state(0)
  done = $state(0)
  /** Flights added. */
  added = $state(0)
  /** Files that were in the logbook already. */
  known = $state(0)
  refused = $state<{ path: string; problem: string }[]>([])
  /** Why nothing goes on, in one sentence; '' when all went well. */
  problem = $state('')
  readonly #stop = new AbortController()

  constructor(name: string) {
    this.name = name
  }

  cancel(): void {
    this.#stop.abort()
    this.state = 'cancelled'
  }

  /** A file or folder that can't be read. */
  readonly refuse = (path: string, problem = `${path} can’t be read.`): void => {
    this.refused.push({ path, problem })
  }

  async run(files: AsyncIterable<FolderFile> | Iterable<FolderFile>): Promise<void> {
    const list: FolderFile[] = []
    for await (const file of files) {
      if (this.#stop.signal.aborted) return
      if (list.push(file) > MOST_FILES) {
        this.problem = `${this.name} holds more than ${MOST_FILES} files: add its folders one by one, or have it watched.`
        this.state = 'done'
        return
      }
      this.total = list.length
    }
    this.state = 'taking'
    const { logs, sheets } = await pairSheets(list)
    const wanted = logs.filter(({ file }) => mayBeLog(file.name))
    this.total = wanted.length
    for (const file of wanted) {
      try {
        await this.#take(file, sheets.get(file.path))
      } catch (error) {
        if (!isProblem(error)) throw error
        if (error.code === 'cancelled') return
        if (isTheDesks(error)) {
          this.problem = error.message
          break
        }
        this.refuse(file.path, error.message)
      }
      this.done += 1
    }
    this.state = 'done'
  }

  async #take({ path, file }: FolderFile, settings: SettingsText | undefined): Promise<void> {
    const watch = { signal: this.#stop.signal }
    const { incomingId, known } = await sendFile(file, watch, path)
    if (known) {
      this.known += 1
      await call('incoming.discard', { incomingId })
      return
    }
    try {
      const given = settings ? { settings } : {}
      const { flights } = await stream('incoming.index', { incomingId, assignments: null, ...given }, watch)
      this.added += flights
    } catch (error) {
      await call('incoming.discard', { incomingId })
      throw error
    }
  }
}

/** A full disk, or a desk that is gone, would refuse every further file as well. */
function isTheDesks(problem: Problem): boolean {
  return problem.code === 'disk' || /desk/.test(problem.message)
}
