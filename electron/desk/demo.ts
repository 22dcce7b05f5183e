import { mkdir, writeFile } from 'node:fs/promises'
import { randomUUID } from 'node:crypto'
import { on } from 'node:events'
import { join } from 'node:path'
import { Worker } from 'node:worker_threads'
import { isProblem } from '../../workers/log/problems.ts'
import type { Library } from '../library/library.ts'
import type { DemoState } from './contract/schemas.ts'
import { DemoTrail } from './demo-trail.ts'
import type { DemoMessage } from './demo.worker.ts'
import type { IncomingFiles } from './incoming.ts'
import { workerEntry } from '../worker-entry.ts'

const KEPT_KEY = 'demo'

/**
 * Fills a new logbook with the demo flights: simulated in a thread of its own, written beside the library as
 * plain logs with their settings sheets, and indexed like any other log. Made once: a demo flight that the pilot
 * removes does not come back.
 */
export class DemoFlights {
  state: DemoState = { state: 'none', done: 0, message: '' }
  readonly #home: string
  readonly #library: Library
  readonly #incoming: IncomingFiles
  readonly #changed: () => void
  readonly #log: (line: string) => void
  readonly #stop = new AbortController()
  readonly #trail: DemoTrail
  #running: Promise<void> = Promise.resolve()

  constructor(
    home: string,
    library: Library,
    incoming: IncomingFiles,
    changed: () => void,
    log: (line: string) => void,
  ) {
    this.#home = home
    this.#library = library
    this.#trail = new DemoTrail(library)
    this.#incoming = incoming
    this.#changed = changed
    this.#log = log
  }

  /** Begins making the flights in the background, unless this library had them before. */
  start(): void {
    if (this.#library.memory.kept(KEPT_KEY) !== null) {
      this.#tell({ state: 'ready', done: 1, message: '' })
      return
    }
    this.#running = this.#make().catch((error: unknown) => {
      if (this.#stop.signal.aborted) return
      this.#log(error instanceof Error ? (error.stack ?? error.message) : String(error))
      const reason = isProblem(error) ? ` ${error.message}` : ''
      this.#tell({ state: 'failed', done: 0, message: `The demo flights could not be made.${reason}` })
    })
  }

  /** Stops what is under way; resolves when nothing touches the library any more. */
  async stop(): Promise<void> {
    this.#stop.abort()
    await this.#running
  }

  async #make(): Promise<void> {
    this.#tell({ state: 'making', done: 0, message: 'Simulating the demo flights' })
    const folder = join(this.#home, 'demo')
    await mkdir(folder, { recursive: true })
    const worker = new Worker(workerEntry('demo.worker', import.meta.url))
    const failed = new Promise<never>((_resolve, reject) => {
      worker.once('error', reject)
      worker.once('exit', (code) => code !== 0 && reject(new Error(`the demo's thread ended with ${code}`)))
    })
    try {
      const messages = on(worker, 'message', { signal: this.#stop.signal, close: ['exit'] })
      for (;;) {
        const next = await Promise.race([messages.next(), failed])
        if (next.done) break
        await this.#take(folder, (next.value as [DemoMessage])[0])
      }
    } finally {
      await worker.terminate()
      // The thread's end, when it comes after the last flight, is no longer anyone's concern.
      failed.catch(() => undefined)
    }
    this.#library.memory.keep(KEPT_KEY, 'made')
    this.#tell({ state: 'ready', done: 1, message: '' })
  }

  async #take(folder: string, flight: DemoMessage): Promise<void> {
    const path = join(folder, flight.fileName)
    await writeFile(path, flight.text)
    await writeFile(join(folder, flight.settingsName), flight.settingsText)
    const work = { signal: this.#stop.signal, report: () => {} }
    const { incomingId } = await this.#incoming.open(path, work)
    const [flightId] = await this.#incoming.index(incomingId, null, work, {
      name: flight.title,
      craft: flight.craft,
      note: flight.note,
      demo: true,
      settings: { name: flight.settingsName, text: flight.settingsText },
    })
    if (flightId !== undefined) {
      this.#mark(this.#library.reading(flightId).contentHash, flight)
      this.#trail.add(flightId, flight)
    }
    this.#tell({
      state: 'making',
      done: flight.order / flight.count,
      message: `Simulating the demo flights: ${flight.order} of ${flight.count}`,
    })
  }

  /** Marks what the demo's pilot marked, once: making the flights may have been broken off before. */
  #mark(contentHash: string, { moments }: DemoMessage): void {
    if (this.#library.moments.of([contentHash]).length > 0) return
    for (const { t_s, duration_s, tags, note, stars, flyAgain } of moments) {
      this.#library.moments.add(
        {
          id: randomUUID(),
          places: [{ side: 'a', contentHash, t0_s: t_s, t1_s: t_s + duration_s, marked: true }],
          tags,
          note,
          stars,
          flyAgain: flyAgain !== null,
          whatToFly: flyAgain ?? '',
        },
        Date.now(),
      )
    }
  }

  #tell(state: DemoState): void {
    this.state = state
    this.#changed()
  }
}
