import * as v from 'valibot'
import type { ColourMapName } from '../../workers/colour/colour-maps.ts'
import type { DifferenceLane } from '../../workers/comparison/lane-difference.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { AXES, perAxis, type Axis, type PerAxis } from '../../workers/flight/axes.ts'
import { commonLevelRange } from '../../workers/picture/ranges.ts'
import { laneOf } from '../work/lane-of.ts'
import { comparisonWorkers } from '../work/workers.ts'
import type { Side } from './comparison.svelte.ts'
import { keepSoon, loadKept } from './kept.ts'
import type { LoadedFlight } from './load-flight.ts'

/** Frames per lane: about two a drawn column of a wide window. */
const LANE_COLUMNS = 900
/**
 * Cells of a difference per axis, along time and frequency: coarser than the spectrograms, since the level of one frame
 * and bin scatters by 5.6 dB (common knowledge of periodograms) and a difference shows nothing but that scatter.
 */
const DIFFERENCE_COLUMNS = 260
const DIFFERENCE_ROWS = 48
const KEY = 'compare.lanes'
const SHOWS = ['both', 'a', 'b', 'difference'] as const
/** Which flights' spectrograms a lane shows, or B - A. */
export type LaneShow = (typeof SHOWS)[number]

const keptSchema = v.object({
  map: v.picklist(['magma', 'viridis', 'grey']),
  show: v.picklist(SHOWS),
  lines: v.boolean(),
})

export interface LevelRange {
  readonly min_db: number
  readonly max_db: number
}

/** What lanes are computed of: both flights, how B lies over A, and the visible span. */
export interface LaneJob {
  readonly a: LoadedFlight
  readonly b: LoadedFlight
  readonly offset_s: number
  readonly t0_s: number
  readonly t1_s: number
}

/** The spectrograms of what is visible, and how they are shown. */
export class Lanes {
  found = $state.raw<Readonly<Record<Side, PerAxis<Lane | null>>>>({
    a: perAxis(() => null),
    b: perAxis(() => null),
  })
  differences = $state.raw<PerAxis<DifferenceLane | null>>(perAxis(() => null))
  /** Share of the spectrograms under way that is done; null when none is. */
  done = $state<number | null>(null)
  /** One range of levels for all lanes; it stays while the view moves, so that colours keep their meaning. */
  range_db = $state.raw<LevelRange | null>(null)
  /** What was last fitted: the handles go some way beyond it. */
  fitted_db = $state.raw<LevelRange | null>(null)
  /** Differences are shown from minus this to plus this. */
  differenceRange_db = $state(0)
  map = $state<ColourMapName>('magma')
  show = $state<LaneShow>('both')
  lines = $state(false)
  #of: LaneJob | null = null

  async begin(): Promise<void> {
    const kept = await loadKept(KEY, keptSchema)
    if (kept) Object.assign(this, kept)
  }

  /** Changes how lanes are shown; kept for the next time. */
  set(part: Partial<Pick<Lanes, 'map' | 'show' | 'lines'>>): void {
    Object.assign(this, part)
    keepSoon(KEY, { map: this.map, show: this.show, lines: this.lines })
  }

  /** Fits the range of levels - or of differences - to what is visible of both flights. */
  fit(): void {
    this.range_db = commonLevelRange(
      AXES.flatMap((axis) => [this.found.a[axis], this.found.b[axis]].filter((lane) => lane !== null)),
    )
    this.fitted_db = this.range_db
    this.fitDifference()
  }

  fitDifference(): void {
    this.differenceRange_db = symmetricRange_db(AXES.flatMap((axis) => this.differences[axis] ?? []))
  }

  /** Puts a range in force that was kept. */
  restoreRange(range: LevelRange | null): void {
    this.range_db = this.fitted_db = range
  }

  setRange(range: LevelRange): void {
    if (range.min_db < range.max_db) this.range_db = range
  }

  async compute(job: LaneJob, signal: AbortSignal): Promise<void> {
    const jobs = AXES.flatMap((axis) => [
      { side: 'a' as const, axis, flight: job.a, shift_s: 0 },
      { side: 'b' as const, axis, flight: job.b, shift_s: job.offset_s },
    ])
    const done = new Array<number>(jobs.length).fill(0)
    // A worker's last words may arrive after its result: they must not bring the bar back.
    let over = false
    const tell = () => {
      if (!over) this.done = done.reduce((sum, share) => sum + share, 0) / jobs.length
    }
    tell()
    try {
      const found = await Promise.all(
        jobs.map(async ({ side, axis, flight, shift_s }, index) => {
          const [from_s, to_s] = [job.t0_s - shift_s, job.t1_s - shift_s]
          const of = { signals: flight.signals, detail: flight.detail, signal: 'gyro', axis } as const
          const lane = await laneOf(of, from_s, to_s, LANE_COLUMNS, signal, (share) => {
            done[index] = share
            tell()
          })
          done[index] = 1
          return { side, axis, lane }
        }),
      )
      const foundOf = (side: Side, axis: Axis) =>
        found.find((one) => one.side === side && one.axis === axis)?.lane ?? null
      this.found = { a: perAxis((axis) => foundOf('a', axis)), b: perAxis((axis) => foundOf('b', axis)) }
      this.#of = job
      if (this.range_db === null) {
        this.range_db = this.fitted_db = commonLevelRange(found.flatMap(({ lane }) => lane ?? []))
      }
      if (this.show === 'difference') await this.#computeDifferences(signal)
    } finally {
      over = true
      this.done = null
    }
  }

  /** The differences of the spectrograms that are there already. */
  async compare(signal: AbortSignal): Promise<void> {
    if (this.#of) await this.#computeDifferences(signal)
  }

  async #computeDifferences(signal: AbortSignal): Promise<void> {
    const { found } = this
    const { offset_s = 0, t0_s = 0, t1_s = 1 } = this.#of ?? {}
    const made = await Promise.all(
      AXES.map(async (axis) => {
        const [a, b] = [found.a[axis], found.b[axis]]
        if (!a || !b) return null
        return comparisonWorkers.run(
          (worker) => worker.laneDifference(a, b, offset_s, t0_s, t1_s, DIFFERENCE_COLUMNS, DIFFERENCE_ROWS),
          signal,
        )
      }),
    )
    if (this.found !== found) return
    this.differences = perAxis((axis) => made[AXES.indexOf(axis)] ?? null)
    if (this.differenceRange_db === 0) this.fitDifference()
  }
}

/** Holds 98 of 100 cells, in whole steps of 3 dB, at least 6. */
function symmetricRange_db(lanes: readonly DifferenceLane[]): number {
  const sizes = lanes.flatMap(({ difference_db }) => {
    const step = Math.max(1, Math.floor(difference_db.length / 20_000))
    const some: number[] = []
    for (let n = 0; n < difference_db.length; n += step) {
      const size = Math.abs(difference_db[n]!)
      if (size >= 0) some.push(size)
    }
    return some
  })
  if (sizes.length === 0) return 0
  sizes.sort((a, b) => a - b)
  return Math.max(6, Math.ceil((sizes[Math.floor(0.98 * (sizes.length - 1))] ?? 0) / 3) * 3)
}
