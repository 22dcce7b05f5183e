import type { CallRequest, CallResponse } from '../../electron/desk/contract/calls.ts'
import type { Change } from '../../workers/changes/change.ts'
import { withVerdict } from '../../workers/changes/keep-verdict.ts'
import { bestSoFar, inOrder } from '../../workers/changes/trail.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { undoStack } from '../commands/undo.svelte.ts'
import { call } from '../desk/client.ts'
import { judgeChange } from './judge.ts'

/** The trail of one craft, and what can be done with it. */
class TrailState {
  craft = $state<string | null>(null)
  changes = $state.raw<readonly Change[]>([])
  /** Flights named in the trail that are in the logbook. */
  present = $state.raw<ReadonlySet<number>>(new Set())
  crafts = $state.raw<CallResponse<'changes.list'>['crafts']>([])
  loaded = $state(false)
  problem = $state('')
  news = $state('')
  /** The change that is being judged, and how far that is. */
  judging = $state.raw<{ readonly id: string; readonly done: number; readonly doing: string } | null>(null)
  readonly best = $derived(bestSoFar(this.changes))
  /** Changes with flights on both sides that are not judged yet. */
  readonly waiting = $derived(
    this.changes.filter((change) => change.verdict === null && this.canJudge(change)),
  )
  #stop = new AbortController()

  canJudge({ before, after }: Change): boolean {
    const there = (flights: Change['before']) =>
      flights[0] !== undefined && this.present.has(flights[0].flightId)
    return there(before) && there(after)
  }

  /** Fetches a craft's trail; the craft shown at present, or the first that has one. */
  async load(craft: string | null = this.craft): Promise<void> {
    await this.#orSay(async () => {
      const found = await call('changes.list', { craft })
      this.craft = found.craft
      this.changes = inOrder(found.changes)
      this.present = new Set(found.present)
      this.crafts = found.crafts
      this.loaded = true
    })
  }

  /** Keeps a change, new or altered; it can be undone. `name` follows "Undo". True when it was kept. */
  async put(change: Change, name: string): Promise<boolean> {
    return this.#orSay(async () => {
      const before = await this.#kept(change)
      const put = async (record: Change) => {
        await call('changes.put', { change: asSent(record) })
        await this.load(record.craft)
      }
      await put(change)
      undoStack.did({
        name,
        undo: () => (before ? put(before) : this.#takeOut(change)),
        redo: () => put(change),
      })
    })
  }

  async remove(change: Change): Promise<void> {
    await this.#orSay(async () => {
      await this.#takeOut(change)
      undoStack.did({
        name: 'take out a change',
        undo: async () => {
          await call('changes.put', { change: asSent(change) })
          await this.load(change.craft)
        },
        redo: () => this.#takeOut(change),
      })
      this.news = 'Taken out of the trail; Undo brings it back.'
    })
  }

  /** Judges these changes one after the other, and keeps each verdict. */
  async judge(changes: readonly Change[]): Promise<void> {
    this.#stop.abort()
    const stop = new AbortController()
    this.#stop = stop
    this.news = ''
    let judged = 0
    for (const change of changes) {
      const isDone = await this.#orSay(async () => {
        this.judging = { id: change.id, done: 0, doing: 'Loading the flights' }
        const verdict = await judgeChange(change, stop.signal, (done, doing) => {
          if (this.#stop === stop) this.judging = { id: change.id, done, doing }
        })
        await this.put(withVerdict(change, verdict), 'judge a change')
      })
      if (!isDone) break
      judged += 1
    }
    if (this.#stop !== stop) return
    this.judging = null
    if (judged > 0) this.news = judged === 1 ? 'Judged.' : `Judged ${judged} changes.`
  }

  /** Stops the judging that is under way. */
  cancel(): void {
    this.#stop.abort()
    this.judging = null
  }

  /** The record that a change takes the place of, whatever craft's trail is shown. */
  async #kept(change: Change): Promise<Change | null> {
    const { changes } = await call('changes.list', { craft: change.craft })
    return [...changes, ...this.changes].find(({ id }) => id === change.id) ?? null
  }

  async #takeOut({ id, craft }: Change): Promise<void> {
    await call('changes.remove', { id })
    await this.load(craft)
  }

  async #orSay(work: () => Promise<void>): Promise<boolean> {
    this.problem = ''
    try {
      await work()
      return true
    } catch (error) {
      if (!isProblem(error)) throw error
      if (error.code !== 'cancelled') this.problem = error.message
      return false
    }
  }
}

/** The same, as the contract has it: lists that may be written to. */
const asSent = (change: Change) => change as CallRequest<'changes.put'>['change']

export const trail = new TrailState()
