import { parseSheet } from '../../workers/settings/parse-sheet.ts'
import { call, sendFile, stream } from '../desk/client.ts'
import { outlines } from '../pair/known-outlines.ts'
import { session } from '../session.svelte.ts'
import type { WatchedFolder } from '../../electron/desk/contract/folders.ts'
import type { FolderFile } from './dropped-files.ts'
import { FolderBatch } from './folder-batch.svelte.ts'
import { said } from '../commands/said.svelte.ts'
import { undo } from '../commands/take-back.ts'
import { editFlight, removeFlight } from './flight-edits.ts'
import { FlightList } from './flight-list.svelte.ts'
import { ListCursor } from './list-cursor.svelte.ts'
import { pairSheets } from './sheets-beside.ts'
import type {
  DemoState,
  FlightSummary,
  Incoming,
  Progress,
  SettingsText,
} from '../../electron/desk/contract/schemas.ts'
import type { Assignment } from '../../workers/columns/roles.ts'
import { isProblem, type Problem } from '../../workers/log/problems.ts'

/** A file on its way into the logbook. */
export class IncomingFile {
  readonly key = crypto.randomUUID()
  readonly name: string
  state = $state<'looking' | 'ready' | 'known' | 'indexing' | 'failed'>('looking')
  progress = $state<Progress>({ phase: 'Taking the file in', done: 0 })
  found = $state.raw<Incoming | null>(null)
  assignments = $state.raw<readonly Assignment[]>([])
  /** The settings sheet that came with it, and whether it is kept with its flights. */
  settings = $state.raw<SettingsText | null>(null)
  keepsSettings = $state(true)
  problem = $state('')
  readonly #stop = new AbortController()

  constructor(name: string) {
    this.name = name
  }

  get watch() {
    return { signal: this.#stop.signal, onProgress: (progress: Progress) => (this.progress = progress) }
  }

  cancel(): void {
    this.#stop.abort()
  }
}

/** The indexed flights and the files on their way in. */
class LogbookState {
  readonly list = new FlightList((work) => this.#orSay(work))
  readonly cursor = new ListCursor()
  /** The flight whose details are open over the list. */
  opened = $state<number | null>(null)
  showsFolders = $state(false)
  /** The lines of the flights chosen as A and B, wherever they stand in the list. */
  #chosen = $state.raw<readonly FlightSummary[]>([])
  demo = $state.raw<DemoState>({ state: 'none', done: 0, message: '' })
  loaded = $state(false)
  problem = $state('')
  incoming = $state<IncomingFile[]>([])
  /** Folders that were dropped or picked. */
  batches = $state<FolderBatch[]>([])
  /** Folders that are watched. */
  folders = $state.raw<readonly WatchedFolder[]>([])
  /** What became of the files added last, in one line. */
  news = $state('')

  /** Loads the list and keeps it up to date until the signal is aborted. */
  async watch(signal: AbortSignal): Promise<void> {
    await this.refresh()
    while (!signal.aborted) {
      try {
        const onProgress = () => {
          outlines.renew()
          void this.refresh()
        }
        await stream('logbook.watch', {}, { signal, onProgress })
      } catch (error) {
        if (!isProblem(error)) throw error
        if (error.code === 'cancelled') return
        this.problem = error.message
        await new Promise((resolve) => setTimeout(resolve, 2000))
        await this.refresh()
      }
    }
  }

  async refresh(): Promise<void> {
    await this.#orSay(async () => {
      const asked = [session.a, session.b].filter((id) => id !== null)
      const [reply, { folders }] = await Promise.all([this.list.refresh(asked), call('folders.list', {})])
      this.folders = folders
      if (!reply) return
      this.#chosen = reply.also
      this.demo = reply.demo
      this.loaded = true
      this.problem = ''
      // A flight that was chosen while the desk was asked is not among those it was asked for.
      const since = [session.a, session.b].filter((id) => id !== null && !asked.includes(id)) as number[]
      session.letGo(new Set([...reply.also.map((flight) => flight.id), ...since]))
    })
  }

  /** The line of a flight that is chosen or in sight. */
  summaryOf(flightId: number): FlightSummary | undefined {
    return this.#chosen.find((flight) => flight.id === flightId) ?? this.list.find(flightId)
  }

  /** Brings a flight's line into sight, also when what is looked for would leave it out. */
  async reveal(flightId: number): Promise<void> {
    await this.#orSay(async () => {
      let index = await this.list.placeOf(flightId)
      if (index === null) {
        this.list.change({ search: '', craft: null, health: 'any' })
        index = await this.list.placeOf(flightId)
      }
      if (index === null) return
      this.cursor.folded.clear()
      this.cursor.goTo(index)
    })
  }

  /** The flight before this one of the same craft: the usual "before". */
  async previousOf(flightId: number): Promise<FlightSummary | null> {
    let found: FlightSummary | null = null
    await this.#orSay(async () => {
      found = (await call('flight.previous', { flightId })).flight
      if (found) this.#chosen = [...this.#chosen, found]
    })
    return found
  }

  /** Looks at dropped or picked files, one after the other: each is shown before anything is stored. */
  async take(files: readonly File[]): Promise<void> {
    const { logs, sheets } = await pairSheets(files.map((file) => ({ path: file.name, file })))
    const taken = logs.map(({ file, path }) => {
      const entry = this.#enter(file.name)
      entry.settings = sheets.get(path) ?? null
      return { file, entry }
    })
    for (const { file, entry } of taken) await this.#look(entry, () => sendFile(file, entry.watch))
  }

  /** The same for paths given on the command line. */
  async open(paths: readonly string[]): Promise<void> {
    for (const path of paths) {
      const entry = this.#enter(path.split(/[/\\]/).at(-1) ?? path)
      await this.#look(entry, () => stream('incoming.open', { path }, entry.watch))
    }
  }

  /** Takes a folder in, file by file, while its progress is shown. */
  async takeFolder(
    name: string,
    files: (batch: FolderBatch) => AsyncIterable<FolderFile> | Iterable<FolderFile>,
  ) {
    this.batches.push(new FolderBatch(name))
    // The one in the list is the one that the window hears of.
    const batch = this.batches.at(-1) as FolderBatch
    await batch.run(files(batch))
    await this.refresh()
  }

  closeBatch(batch: FolderBatch): void {
    this.batches = this.batches.filter((other) => other.key !== batch.key)
  }

  /** Reads a waiting file whole into the logbook. */
  async add(entry: IncomingFile): Promise<void> {
    const { found } = entry
    if (!found || entry.state !== 'ready') return
    entry.state = 'indexing'
    await this.#orFail(entry, async () => {
      const touched = entry.assignments !== found.inspection.assignments
      const { flight, flights } = await stream(
        'incoming.index',
        {
          incomingId: found.incomingId,
          assignments: touched ? [...entry.assignments] : null,
          settings: entry.keepsSettings ? entry.settings : null,
        },
        entry.watch,
      )
      await this.refresh()
      this.incoming = this.incoming.filter((other) => other.key !== entry.key)
      this.news =
        flights === 1
          ? `Added to the logbook: ${flight.name}.`
          : `Added to the logbook: ${flights} flights that were found in ${flight.fileName}.`
    })
  }

  async addAll(): Promise<void> {
    const ready = this.incoming.filter((entry) => entry.state === 'ready')
    for (const entry of ready) await this.add(entry)
    const left = ready.filter((entry) => this.incoming.includes(entry)).length
    this.news = `Added to the logbook: ${ready.length - left} of ${ready.length} files.`
  }

  /** Takes a file off the list; what was not indexed is forgotten by the desk as well. */
  async dismiss(entry: IncomingFile): Promise<void> {
    entry.cancel()
    this.incoming = this.incoming.filter((other) => other.key !== entry.key)
    const { found } = entry
    if (found) {
      await this.#orSay(async () => void (await call('incoming.discard', { incomingId: found.incomingId })))
    }
  }

  /** Keeps a settings sheet with a flight, in the place of what it had; it can be undone. */
  async giveSettings(flightId: number, settings: { name: string; text: string }): Promise<void> {
    await this.#orSay(async () => {
      const before = await call('flight.get', { flightId })
      await editFlight(before, { settings })
      const count = parseSheet(settings.text).settings.length
      this.news = `Kept with ${before.name}: ${count} settings from ${settings.name}.`
    })
  }

  /** Takes a flight out of the logbook, and says how it comes back. */
  async remove(flightId: number): Promise<void> {
    const name = this.summaryOf(flightId)?.name ?? 'a flight'
    await this.#orSay(async () => {
      await removeFlight(flightId, name)
      said.say({
        kind: 'done',
        text: `Removed from the logbook: ${name}. Its log file is where it was.`,
        action: { name: 'Bring it back', run: () => void undo() },
      })
    })
    await this.refresh()
  }

  #enter(name: string): IncomingFile {
    const entry = new IncomingFile(name)
    this.incoming.push(entry)
    return entry
  }

  async #look(entry: IncomingFile, look: () => Promise<Incoming>): Promise<void> {
    await this.#orFail(entry, async () => {
      const found = await look()
      entry.found = found
      entry.assignments = found.inspection.assignments
      entry.settings ??= found.settings
      entry.state = found.known === null ? 'ready' : 'known'
    })
  }

  async #orFail(entry: IncomingFile, work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      entry.state = 'failed'
      entry.problem = error.message
    }
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = (error satisfies Problem).message
    }
  }
}

export const logbook = new LogbookState()
