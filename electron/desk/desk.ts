import { mkdirSync } from 'node:fs'
import * as v from 'valibot'
import type { Assignment } from '../../workers/columns/roles.ts'
import { Problem } from '../../workers/log/problems.ts'
import { Library } from '../library/library.ts'
import { Archives } from './archives.ts'
import { answerBulk } from './bulk.ts'
import { ARCHIVE_PATHS } from './contract/archives.ts'
import {
  CALLS,
  PATHS,
  STREAMS,
  type CallName,
  type CallAsked,
  type CallResponse,
  type StreamName,
} from './contract/calls.ts'
import { DemoFlights } from './demo.ts'
import type { Desk } from './desk-types.ts'
import { FlightChanges } from './flight-changes.ts'
import { IncomingFiles, type Work } from './incoming.ts'
import { changeAnswers } from './change-answers.ts'
import { momentAnswers } from './moment-answers.ts'
import { resultKey } from './result-key.ts'
import { repeatOffers } from './repeats.ts'
import { parseArrival, replyTo, streamReply } from './reply.ts'
import { WatchedFolders } from './watched-folders.ts'
import { Watchers } from './watchers.ts'

export interface DeskOptions {
  /** The user's data folder; made when it is not there. */
  readonly home: string
  /** False keeps a new logbook empty: tests, and the report command. */
  readonly demo?: boolean
  readonly log?: (line: string) => void
}

/** Opens the library in `home` and answers the window's requests until it is closed. */
export async function createDesk(options: DeskOptions): Promise<Desk> {
  mkdirSync(options.home, { recursive: true })
  const log = options.log ?? console.error
  const library = new Library(options.home)
  const watchers = new Watchers()
  const incoming = new IncomingFiles(options.home, library)
  const archives = new Archives(options.home, library)
  const changes = new FlightChanges(library)
  const demo = new DemoFlights(options.home, library, incoming, () => watchers.notify(), log)
  const folders = new WatchedFolders(library, incoming, () => watchers.notify(), log)
  if (options.demo !== false) demo.start()
  folders.start()

  const calls: { [N in CallName]: (asked: CallAsked<N>) => CallResponse<N> | Promise<CallResponse<N>> } = {
    'logbook.list': (asked) => {
      return {
        ...library.listing.page(asked),
        offset: asked.offset,
        also: library.listing.summaries(asked.also),
        demo: demo.state,
      }
    },
    'logbook.place': (asked) => ({ index: library.listing.place(asked) }),
    'flight.previous': ({ flightId }) => ({ flight: library.listing.previous(flightId) }),
    'flight.get': ({ flightId }) => library.get(flightId),
    'flight.assign': async ({ flightId, assignments }) => {
      await changes.assign(flightId, assignments as Assignment[], Date.now())
      watchers.notify()
      return library.get(flightId)
    },
    'flight.cut': async ({ flightId, span }) => {
      await changes.cut(flightId, span)
      watchers.notify()
      return library.get(flightId)
    },
    'flight.split': async ({ flightId, span }) => {
      const id = await changes.split(flightId, span)
      watchers.notify()
      return library.get(id)
    },
    'flight.edit': ({ flightId, ...change }) => {
      library.edit(flightId, change)
      watchers.notify()
      return library.get(flightId)
    },
    'flight.remove': ({ flightId }) => {
      library.remove(flightId, Date.now())
      watchers.notify()
      return {}
    },
    'flight.restore': ({ flightId }) => {
      library.restore(flightId)
      watchers.notify()
      return library.get(flightId)
    },
    'incoming.discard': async ({ incomingId }) => {
      await incoming.discard(incomingId)
      return {}
    },
    'folders.list': () => ({ folders: folders.list() }),
    'folders.watch': async ({ path }) => {
      await folders.add(path)
      return { folders: folders.list() }
    },
    'folders.forget': ({ path }) => {
      folders.remove(path)
      return { folders: folders.list() }
    },
    'folders.stop': ({ path }) => {
      folders.stop(path)
      return { folders: folders.list() }
    },
    'folders.look': ({ path }) => {
      folders.lookAgain(path)
      return { folders: folders.list() }
    },
    ...momentAnswers(library),
    ...changeAnswers(library, () => watchers.notify()),
    'results.get': (asked) => ({ value: library.results.get(resultKey(asked), Date.now()) }),
    'results.keep': ({ value, ...asked }) => {
      library.results.keep(resultKey(asked), value, Date.now())
      return {}
    },
    'flight.repeats': ({ a, b, search }) => ({ offers: repeatOffers(library, a, b, search) }),
    'library.takeBack': async ({ importId }) => {
      await archives.takeBack(importId)
      watchers.notify()
      return {}
    },
    'kept.get': ({ key }) => ({ value: library.memory.kept(key) }),
    'kept.set': ({ key, value }) => {
      library.memory.keep(key, value)
      return {}
    },
  }

  const streams: { [N in StreamName]: (request: unknown, work: Work) => Promise<unknown> } = {
    'incoming.open': (body, work) =>
      incoming.open(parseArrival(STREAMS['incoming.open'].request, body).path, work),
    'incoming.index': async (body, work) => {
      const { incomingId, assignments, settings } = parseArrival(STREAMS['incoming.index'].request, body)
      const facts = settings === undefined ? {} : { settings }
      const ids = await incoming.index(incomingId, assignments as Assignment[] | null, work, facts)
      watchers.notify()
      return { flight: library.get(ids[0] as number), flights: ids.length }
    },
    'library.export': (body, work) =>
      archives.export(parseArrival(STREAMS['library.export'].request, body).samples, work),
    'library.measures': (_body, work) => archives.measures(work),
    'library.importAgain': async (body, work) => {
      const { importId } = parseArrival(STREAMS['library.importAgain'].request, body)
      // Also when it was cancelled: what had come in until then is gone again.
      return archives.bringIn(importId, work).finally(() => watchers.notify())
    },
    'logbook.watch': async (_body, work) => {
      await watchers.until(work.signal, () => work.report({ phase: 'changed', done: 0 }))
      return {}
    },
  }

  return {
    async handle(request) {
      const url = new URL(request.url)
      if (request.method === 'GET' && url.pathname.startsWith(ARCHIVE_PATHS.exports))
        return archives.fetch(url.pathname.slice(ARCHIVE_PATHS.exports.length))
      if (request.method !== 'POST') return new Response('Only POST is answered here.', { status: 405 })
      if (url.pathname === PATHS.files) {
        const body = request.body
        return streamReply(request, log, (signal, report) => {
          if (!body) throw new Problem('empty-file', 'The file is empty.')
          const bytes = Number(url.searchParams.get('bytes')) || null
          return incoming.receive(url.searchParams.get('name') ?? '', bytes, body, { signal, report })
        })
      }
      if (url.pathname === ARCHIVE_PATHS.archive) {
        const body = request.body
        return streamReply(request, log, async (signal, report) => {
          if (!body) throw new Problem('empty-file', 'The file is empty.')
          return archives.receive(body, { signal, report }).finally(() => watchers.notify())
        })
      }
      const call = nameAfter(PATHS.call, url.pathname, CALLS)
      if (call) {
        return replyTo(async () => {
          const arrived = parseArrival(CALLS[call].request as v.GenericSchema, await jsonOf(request))
          const work = calls[call] as (asked: unknown) => unknown
          // Checked on the way out as well: a reply that breaks the contract is our own fault and crashes here.
          return v.parse(CALLS[call].response as v.GenericSchema, await work(arrived))
        })
      }
      const stream = nameAfter(PATHS.stream, url.pathname, STREAMS)
      if (stream) {
        return streamReply(request, log, async (signal, report) =>
          streams[stream](await jsonOf(request), { signal, report }),
        )
      }
      return new Response('There is nothing at this address.', { status: 404 })
    },

    bulk: (path) => answerBulk(path, library, incoming),

    async close() {
      watchers.close()
      incoming.close()
      await demo.stop()
      await folders.close()
      await archives.close()
      library.close()
    },
  }
}

function nameAfter<T extends object>(prefix: string, path: string, known: T): (keyof T & string) | null {
  const name = path.startsWith(prefix) ? path.slice(prefix.length) : ''
  return Object.hasOwn(known, name) ? (name as keyof T & string) : null
}

async function jsonOf(request: Request): Promise<unknown> {
  const text = await request.text()
  try {
    return JSON.parse(text)
  } catch (error) {
    throw new Problem('bad-request', 'The request is not JSON.', {}, error)
  }
}
