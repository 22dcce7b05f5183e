import type { FlightOutline } from './first-picture.ts'

/** The desk's news come in rows while files are added: the outlines are fetched again when it is quiet. */
const QUIET_MS = 300

/**
 * The outlines of the chosen flights, fetched when they are chosen: the pair's first picture then needs no more than to
 * be drawn.
 */
export class Outlines {
  readonly #fetch: (flightId: number) => Promise<FlightOutline | null>
  readonly #kept = new Map<number, Promise<FlightOutline | null>>()
  #chosen: readonly number[] = []
  #later: ReturnType<typeof setTimeout> | undefined

  constructor(fetch: (flightId: number) => Promise<FlightOutline | null>) {
    this.#fetch = fetch
  }

  /** A flight's outline, from memory when it is chosen. Null for a log that was stored without. */
  of(flightId: number): Promise<FlightOutline | null> {
    const known = this.#kept.get(flightId)
    if (known) return known
    const outline = this.#fetch(flightId)
    if (!this.#chosen.includes(flightId)) return outline
    this.#kept.set(flightId, outline)
    // Whoever draws it hears of a failure; the next one to ask tries again.
    outline.catch(() => this.#kept.get(flightId) === outline && this.#kept.delete(flightId))
    return outline
  }

  /** Fetches the outlines of these flights, and lets go of all others. */
  choose(flightIds: readonly number[]): void {
    this.#chosen = flightIds
    for (const flightId of this.#kept.keys()) if (!flightIds.includes(flightId)) this.#kept.delete(flightId)
    // A failure is told when the outline is drawn, not before.
    for (const flightId of flightIds) void this.of(flightId).catch(() => undefined)
  }

  /** Something changed at the desk, and be it what a column means: what was fetched before no longer counts. */
  renew(): void {
    this.#kept.clear()
    clearTimeout(this.#later)
    this.#later = setTimeout(() => this.choose(this.#chosen), QUIET_MS)
  }
}
