import type { ListedMoment, MomentsPage, MomentsRequest } from '../../electron/desk/contract/moments.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { shelf } from './shelf.svelte.ts'

/** Moments per page asked of the desk. */
const PAGE = 100
/** A search starts once no key was pressed for so long. */
const TYPING_MS = 70

/** What is looked for and how it stands. */
export type MomentQuery = Pick<
  MomentsRequest,
  'search' | 'craft' | 'tag' | 'stars' | 'flyAgain' | 'sort' | 'descending'
>

const ALL: MomentQuery = {
  search: '',
  craft: null,
  tag: null,
  stars: 0,
  flyAgain: false,
  sort: 'marked',
  descending: true,
}

/** All moments of the library as the desk searches and sorts them; only the pages that are looked at are here. */
export class MomentList {
  query = $state.raw<MomentQuery>(ALL)
  total = $state(0)
  all = $state(0)
  crafts = $state.raw<MomentsPage['crafts']>([])
  tags = $state.raw<MomentsPage['tags']>([])
  loaded = $state(false)
  problem = $state('')
  /** Place of the chosen moment in the list; null when none is. */
  chosenAt = $state<number | null>(null)
  #pages = $state.raw<Readonly<Record<number, readonly ListedMoment[]>>>({})
  #looked: readonly number[] = [0]
  #asked: readonly number[] = []
  #turn = 0
  #timer: ReturnType<typeof setTimeout> | undefined
  readonly chosen = $derived(this.chosenAt === null ? null : (this.at(this.chosenAt) ?? null))

  /** Loads the list and follows what becomes of the moments; returns what ends that. */
  follow(): () => void {
    void this.refresh()
    return shelf.listen((news) => {
      // In its place as long as it is only changed: a line that jumps while it is edited can't be followed.
      if (news.kind === 'stands' && !news.isBack) this.#replace(news.moment)
      else void this.refresh()
    })
  }

  get narrowed(): boolean {
    const { search, craft, tag, stars, flyAgain } = this.query
    return search.trim() !== '' || craft !== null || tag !== null || stars > 0 || flyAgain
  }

  /** The moment at a place of the list; undefined until its page has come. */
  at(index: number): ListedMoment | undefined {
    return this.#pages[Math.floor(index / PAGE)]?.[index % PAGE]
  }

  /** Changes the query; typing is waited for, everything else is asked at once. */
  change(part: Partial<MomentQuery>): void {
    this.query = { ...this.query, ...part }
    this.chosenAt = null
    clearTimeout(this.#timer)
    this.#looked = [0]
    if (part.search === undefined) void this.refresh()
    else this.#timer = setTimeout(() => void this.refresh(), TYPING_MS)
  }

  showAll(): void {
    const { sort, descending } = this.query
    this.change({ ...ALL, sort, descending })
    void this.refresh()
  }

  /** Chooses the next moment of the list, or the one before. */
  step(by: 1 | -1): void {
    if (this.total === 0) return
    const at = this.chosenAt === null ? (by > 0 ? -1 : this.total) : this.chosenAt
    this.chosenAt = Math.min(this.total - 1, Math.max(0, at + by))
  }

  /** Says which moments [from, to) are looked at; pages that are not here yet are asked for. */
  look(from: number, to: number): void {
    const pages: number[] = []
    for (let page = Math.floor(from / PAGE); page * PAGE < to; page++) pages.push(page)
    this.#looked = pages
    for (const page of pages) {
      if (this.#pages[page] || this.#asked.includes(page)) continue
      this.#asked = [...this.#asked, page]
      void this.#orSay(async () => {
        const turn = this.#turn
        const { moments } = await this.#ask(page)
        if (turn !== this.#turn) return
        this.#pages = { ...this.#pages, [page]: moments }
        this.#asked = this.#asked.filter((other) => other !== page)
      })
    }
  }

  /** Asks anew for everything that is looked at; what was shown stays until all of it has come. */
  async refresh(): Promise<void> {
    const turn = ++this.#turn
    await this.#orSay(async () => {
      const wanted = this.#looked.length > 0 ? this.#looked : [0]
      const replies = await Promise.all(wanted.map(async (page) => ({ page, reply: await this.#ask(page) })))
      if (turn !== this.#turn) return
      const { reply } = replies[0]!
      this.#asked = []
      this.#pages = Object.fromEntries(replies.map(({ page, reply }) => [page, reply.moments]))
      this.total = reply.total
      this.all = reply.all
      this.crafts = reply.crafts
      this.tags = reply.tags
      if (this.chosenAt !== null && this.chosenAt >= reply.total) {
        this.chosenAt = reply.total > 0 ? reply.total - 1 : null
      }
      this.loaded = true
      this.problem = ''
    })
  }

  #replace(moment: ListedMoment): void {
    for (const [page, moments] of Object.entries(this.#pages)) {
      const at = moments.findIndex(({ id }) => id === moment.id)
      if (at < 0) continue
      this.#pages = { ...this.#pages, [page]: moments.with(at, moment) }
    }
  }

  #ask(page: number): Promise<MomentsPage> {
    return call('moments.list', { ...this.query, offset: page * PAGE, limit: PAGE })
  }

  async #orSay(work: () => Promise<void>): Promise<void> {
    try {
      await work()
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.message
    }
  }
}
