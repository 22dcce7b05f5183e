import type { FlightSummary } from '../../electron/desk/contract/schemas.ts'
import { isProblem } from '../../workers/log/problems.ts'
import { call } from '../desk/client.ts'
import { findCommands, type Found } from './find.ts'
import { commands } from './registry.svelte.ts'

/** Flights shown below the commands. */
const MOST_FLIGHTS = 6
const TYPING_MS = 70

export type Entry =
  | { readonly kind: 'command'; readonly id: string; readonly found: Found; readonly able: boolean }
  | { readonly kind: 'flight'; readonly id: string; readonly flight: FlightSummary }

/** What is typed into the palette and what fits it. */
export class PaletteSearch {
  #typed = $state('')
  #flights = $state.raw<readonly FlightSummary[]>([])
  problem = $state('')
  chosen = $state(0)
  #timer: ReturnType<typeof setTimeout> | undefined
  #turn = 0

  readonly entries: readonly Entry[] = $derived.by(() => {
    const found = findCommands(this.#typed, commands.all).flatMap<Entry>((one) => {
      const able = one.command.enabled?.() !== false
      if (!able && one.command.needs === undefined) return []
      // The palette is open already.
      if (one.command.id === 'window.palette') return []
      return [{ kind: 'command', id: one.command.id, found: one, able }]
    })
    // What can be done now comes first; within both the best match.
    const ordered = [
      ...found.filter((one) => one.kind === 'command' && one.able),
      ...found.filter((one) => one.kind === 'command' && !one.able),
    ]
    return [
      ...ordered,
      ...this.#flights.map((flight) => ({ kind: 'flight' as const, id: `flight.${flight.id}`, flight })),
    ]
  })
  readonly entry: Entry | undefined = $derived(this.entries[this.chosen])

  get typed(): string {
    return this.#typed
  }

  /** Takes what is typed now; flights follow when the typing rests. */
  type(text: string): void {
    this.#typed = text
    this.chosen = 0
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => void this.#findFlights(), TYPING_MS)
  }

  /** Goes up or down the list, round its ends. */
  move(by: number): void {
    const count = this.entries.length
    if (count > 0) this.chosen = (this.chosen + by + count) % count
  }

  async #findFlights(): Promise<void> {
    const turn = ++this.#turn
    const search = this.#typed.trim()
    try {
      const flights =
        search === ''
          ? []
          : (await call('logbook.list', { search, group: 'none', descending: true, limit: MOST_FLIGHTS }))
              .flights
      if (turn === this.#turn) this.#flights = flights
    } catch (error) {
      if (!isProblem(error)) throw error
      this.problem = error.message
    }
  }
}
