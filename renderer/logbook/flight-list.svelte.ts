import type { FlightGroup, ListRequest, Logbook } from '../../electron/desk/contract/listing.ts'
import type { FlightSummary } from '../../electron/desk/contract/schemas.ts'
import { call } from '../desk/client.ts'

/** Flights per page asked of the desk. */
const PAGE = 100
/** A search starts once no key was pressed for so long. */
const TYPING_MS = 70

/** What is looked for and how it stands. */
export type ListQuery = Pick<ListRequest, 'search' | 'craft' | 'health' | 'group' | 'sort' | 'descending'>

/**
 * The list of flights as the desk searches, sorts and groups it: only the pages that are looked at are here, however
 * long the list is.
 */
export class FlightList {
  query = $state.raw<ListQuery>({
    search: '',
    craft: null,
    health: 'any',
    group: 'craft-day',
    sort: 'flown',
    descending: true,
  })
  /** Flights that fit the query, and flights in all. */
  total = $state(0)
  all = $state(0)
  groups = $state.raw<readonly FlightGroup[]>([])
  crafts = $state.raw<readonly { craft: string; count: number }[]>([])
  #pages = $state.raw<Readonly<Record<number, readonly FlightSummary[]>>>({})
  /** Pages that are looked at at present. */
  #looked: readonly number[] = [0]
  /** Pages that are on their way. */
  #asked: readonly number[] = []
  #turn = 0
  #timer: ReturnType<typeof setTimeout> | undefined
  readonly #orSay: (work: () => Promise<void>) => Promise<void>

  /** @param orSay runs work and shows a Problem that it meets */
  constructor(orSay: (work: () => Promise<void>) => Promise<void>) {
    this.#orSay = orSay
  }

  /** Whether fewer flights are shown than there are. */
  get narrowed(): boolean {
    return this.query.search.trim() !== '' || this.query.craft !== null || this.query.health !== 'any'
  }

  /** The flight at a place of the list; undefined until its page has come. */
  at(index: number): FlightSummary | undefined {
    return this.#pages[Math.floor(index / PAGE)]?.[index % PAGE]
  }

  /** A flight's line, if it is on a page that is here. */
  find(flightId: number): FlightSummary | undefined {
    for (const page of Object.values(this.#pages)) {
      const found = page.find((flight) => flight.id === flightId)
      if (found) return found
    }
    return undefined
  }

  /** Changes the query; typing is waited for, everything else is asked at once. */
  change(part: Partial<ListQuery>): void {
    this.query = { ...this.query, ...part }
    clearTimeout(this.#timer)
    this.#looked = [0]
    const ask = () => void this.#orSay(async () => void (await this.refresh()))
    if (part.search === undefined) ask()
    else this.#timer = setTimeout(ask, TYPING_MS)
  }

  /** Where a flight stands in the list; null when it does not fit what is looked for. */
  async placeOf(flightId: number): Promise<number | null> {
    return (await call('logbook.place', { ...this.query, flightId })).index
  }

  /** Sorts by a column; by the same once more turns the order round. */
  sortBy(sort: ListQuery['sort']): void {
    const same = this.query.sort === sort
    // What one looks for first: the newest, the longest, the fastest, the most noted; names from A.
    this.change({ sort, descending: same ? !this.query.descending : sort !== 'name' })
  }

  /** Says at which places flights are looked at; pages that are not here yet are asked for. */
  look(indexes: readonly number[]): void {
    const pages = indexes
      .map((index) => Math.floor(index / PAGE))
      .filter((page, at, all) => page !== all[at - 1])
    this.#looked = pages
    for (const page of pages) {
      if (this.#pages[page] || this.#asked.includes(page)) continue
      this.#asked = [...this.#asked, page]
      void this.#orSay(async () => {
        const turn = this.#turn
        const { flights } = await this.#ask(page, [])
        if (turn !== this.#turn) return
        this.#pages = { ...this.#pages, [page]: flights }
        this.#asked = this.#asked.filter((other) => other !== page)
      })
    }
  }

  /**
   * Asks anew for everything that is looked at. What was shown stays until all of it has come, so nothing flickers.
   * @param also flights whose lines are wanted wherever they stand
   * @returns what the desk said last; null when a newer question has overtaken this one
   */
  async refresh(also: readonly number[] = []): Promise<Logbook | null> {
    const turn = ++this.#turn
    const wanted = this.#looked.length > 0 ? this.#looked : [0]
    const replies = await Promise.all(
      wanted.map(async (page, index) => ({ page, reply: await this.#ask(page, index === 0 ? also : []) })),
    )
    if (turn !== this.#turn) return null
    const { reply } = replies[0]!
    this.#asked = []
    this.#pages = Object.fromEntries(replies.map(({ page, reply }) => [page, reply.flights]))
    this.total = reply.total
    this.all = reply.all
    this.groups = reply.groups
    this.crafts = reply.crafts
    return reply
  }

  #ask(page: number, also: readonly number[]): Promise<Logbook> {
    return call('logbook.list', { ...this.query, offset: page * PAGE, limit: PAGE, also: [...also] })
  }
}
