import * as v from 'valibot'
import { AXES, type Axis } from '../../workers/flight/axes.ts'
import type { ChannelName } from '../../workers/flight/signals.ts'
import { keyOf, traceRows, type ChannelWords, type TraceRow } from './channels.ts'
import { keepSoon, loadKept } from './kept.ts'

/** A row as it stands: traces, or the spectrograms of an axis. */
export interface Row {
  readonly id: string
  readonly title: string
  readonly axis: Axis | null
  readonly kind: 'traces' | 'lane'
}

const laneOf = (axis: Axis) => `lane.${axis}`
/** How much room rows take from the start, against each other. */
const WEIGHTS: Readonly<Record<string, number>> = { roll: 2, pitch: 2, yaw: 2, motor: 1.2, speed: 1.2 }
/** A row that was sized keeps between these. */
const LEAST_PX = 52
const MOST_PX = 1600
const SHOWN_AT_FIRST = [...AXES.flatMap((axis) => [axis, laneOf(axis)]), 'throttle']
const KEY = 'compare.rows'

const keptSchema = v.object({
  order: v.array(v.string()),
  shown: v.array(v.string()),
  collapsed: v.array(v.string()),
  heights_px: v.record(v.string(), v.number()),
  chosen: v.record(v.string(), v.array(v.string())),
  locked: v.boolean(),
  together: v.boolean(),
})
type Kept = v.InferOutput<typeof keptSchema>

/** Which rows there are, in which order and height, and what each draws. Kept for the next time. */
export class Rows {
  #kept = $state.raw<Kept>({
    order: [],
    shown: SHOWN_AT_FIRST,
    collapsed: [],
    heights_px: {},
    chosen: {},
    locked: true,
    together: false,
  })
  #traces = $state.raw<readonly TraceRow[]>([])
  // One by one, so that sizing a row does not make all rows anew.
  readonly #order = $derived(this.#kept.order)
  readonly #shown = $derived(this.#kept.shown)
  readonly #collapsed = $derived(this.#kept.collapsed)
  readonly #chosen = $derived(this.#kept.chosen)
  /** The row that keys act on: where the pointer or the focus was last. */
  current = $state<string | null>(null)

  /** The row whose divider has the focus. */
  divider = $state<string | null>(null)

  /** Every row that the two flights can fill, in the order in force. */
  readonly all: readonly Row[] = $derived.by(() => {
    const rows = this.#traces.flatMap((row): Row[] => {
      const traces: Row = { id: row.id, title: row.title, axis: row.axis, kind: 'traces' }
      const hasLane = row.axis !== null && row.channels.some(({ family }) => family === 'gyro')
      if (!hasLane || !row.axis) return [traces]
      return [
        traces,
        { id: laneOf(row.axis), title: `${row.axis} spectrogram`, axis: row.axis, kind: 'lane' },
      ]
    })
    const place = (id: string) => {
      const at = this.#order.indexOf(id)
      return at < 0 ? this.#order.length + rows.findIndex((row) => row.id === id) : at
    }
    return rows.sort((a, b) => place(a.id) - place(b.id))
  })
  readonly shown: readonly Row[] = $derived(this.all.filter(({ id }) => this.#shown.includes(id)))
  readonly lanesShown = $derived(
    this.shown.some(({ kind, id }) => kind === 'lane' && !this.#collapsed.includes(id)),
  )
  /** True: both flights of a row are drawn on one scale. */
  get locked(): boolean {
    return this.#kept.locked
  }
  /** True: the three axes have one scale together. */
  get together(): boolean {
    return this.#kept.together
  }

  /** What the flights have; what was kept comes into force. */
  async begin(available: readonly ChannelName[]): Promise<void> {
    const kept = await loadKept(KEY, keptSchema)
    if (kept) this.#kept = kept
    this.#traces = traceRows(available)
  }

  /** Everything that a row of traces may draw. */
  channelsOf(id: string): readonly ChannelWords[] {
    return this.#traces.find((row) => row.id === id)?.channels ?? []
  }

  /** What a row of traces draws. */
  drawnIn(id: string): readonly ChannelWords[] {
    const row = this.#traces.find((one) => one.id === id)
    if (!row) return []
    const wanted = this.#chosen[id] ?? row.usual
    const drawn = row.channels.filter(({ channel }) => wanted.includes(keyOf(id, channel)))
    return drawn.length > 0
      ? drawn
      : row.channels.filter(({ channel }) => row.usual.includes(keyOf(id, channel)))
  }

  /** Draws a channel in a row, or no longer; the last one stays. */
  choose(id: string, channel: ChannelName, on: boolean): void {
    const before = this.drawnIn(id).map((one) => keyOf(id, one.channel))
    const key = keyOf(id, channel)
    const after = on ? [...before.filter((one) => one !== key), key] : before.filter((one) => one !== key)
    if (after.length > 0) this.#keep({ chosen: { ...this.#kept.chosen, [id]: after } })
  }

  /** Lets the rows of all axes draw these families. */
  chooseForAxes(families: readonly string[]): void {
    const chosen = { ...this.#kept.chosen }
    for (const axis of AXES) chosen[axis] = [...families]
    this.#keep({ chosen })
  }

  isShown(id: string): boolean {
    return this.#shown.includes(id)
  }

  show(id: string, on: boolean): void {
    const others = this.#kept.shown.filter((one) => one !== id)
    this.#keep({ shown: on ? [...others, id] : others })
  }

  isCollapsed(id: string): boolean {
    return this.#collapsed.includes(id)
  }

  collapse(id: string, on = !this.isCollapsed(id)): void {
    const others = this.#kept.collapsed.filter((one) => one !== id)
    this.#keep({ collapsed: on ? [...others, id] : others })
  }

  /** How much of the room a row takes that was not sized, against the others. */
  weightOf(id: string): number {
    return WEIGHTS[id] ?? 1
  }

  /** A sized row's height; null: it takes its share of what is left. */
  heightOf_px(id: string): number | null {
    return this.#kept.heights_px[id] ?? null
  }

  /** Gives a row a height, whatever the others have: where they don't fit they scroll. Null gives it back its share. */
  resize(id: string, height_px: number | null): void {
    const heights_px = { ...this.#kept.heights_px }
    if (height_px === null) delete heights_px[id]
    else heights_px[id] = Math.round(Math.min(MOST_PX, Math.max(LEAST_PX, height_px)))
    this.#keep({ heights_px })
  }

  /** Puts a row before another, or last. */
  moveTo(id: string, before: string | null): void {
    if (id === before) return
    const others = this.all.map((row) => row.id).filter((one) => one !== id)
    const at = before === null ? others.length : others.indexOf(before)
    this.#keep({ order: [...others.slice(0, at), id, ...others.slice(at)] })
  }

  /** Moves a row past its neighbour. */
  move(id: string, by: -1 | 1): void {
    const shown = this.shown.map((row) => row.id)
    const at = shown.indexOf(id)
    if (at < 0) return
    if (by < 0 && at > 0) this.moveTo(id, shown[at - 1] ?? null)
    if (by > 0 && at < shown.length - 1) this.moveTo(id, shown[at + 2] ?? null)
  }

  /** One scale for both flights, or one each. */
  lock(on: boolean): void {
    this.#keep({ locked: on })
  }

  scaleTogether(on: boolean): void {
    this.#keep({ together: on })
  }

  /** Rows, order, heights and scales as they were at first. */
  startOver(): void {
    this.#keep({
      order: [],
      shown: SHOWN_AT_FIRST,
      collapsed: [],
      heights_px: {},
      chosen: {},
      locked: true,
      together: false,
    })
  }

  #keep(part: Partial<Kept>): void {
    this.#kept = { ...this.#kept, ...part }
    keepSoon(KEY, this.#kept)
  }
}
