/** Spectrograms in tiles: put together they are the whole, and a moved view computes only what comes into it. */
import { describe, expect, test } from 'vitest'
import { laneFrom, type LaneOf } from '../../../renderer/work/lane-cache.ts'
import { joinTiles, laneTiles, TILE_FRAMES, tilePlan } from '../../../workers/comparison/lane-tiles.ts'
import { signalLane, spectrogramLane } from '../../../workers/comparison/spectra.ts'
import type { FlightSignals } from '../../../workers/flight/signals.ts'
import { clockBreaks } from '../../../workers/signal/clock-breaks.ts'
import { spectrogram } from '../../../workers/signal/spectrogram.ts'

const RATE_HZ = 1000
const COUNT = 60_000
/** A sample that is missing, and rows before which 40 ms are lost. */
const EMPTY = 20_500
const GAPS = [11_000, 33_333]

function flight(): FlightSignals {
  let state = 3
  const noise = () => (state = (1664525 * state + 1013904223) % 2 ** 32) / 2 ** 32 - 0.5
  const t_s = new Float64Array(COUNT)
  for (let n = 1; n < COUNT; n++) t_s[n] = t_s[n - 1]! + (GAPS.includes(n) ? 0.04 : 1 / RATE_HZ)
  const gyro = Float32Array.from(t_s, (t) => 40 * Math.sin(2 * Math.PI * (50 + t) * t) + 5 * noise())
  gyro[EMPTY] = NaN
  const motor = Float32Array.from(t_s, () => 0.5 + 0.1 * noise())
  return {
    t_s,
    rate_hz: (COUNT - 1) / t_s.at(-1)!,
    channels: { 'gyro.roll': gyro, 'motor.1': motor, 'motor.2': motor.map((value) => 1 - value) },
  }
}
const signals = flight()
const end_s = signals.t_s.at(-1)!

describe('tiles of a spectrogram', () => {
  test('put together are the spectrogram of the whole flight', () => {
    const plan = tilePlan(signals, 0, end_s, 400)!
    expect(plan.tiles.length).toBeGreaterThan(1)
    const lane = joinTiles(laneTiles(signals, 'gyro', 'roll', plan, plan.tiles)!, plan)
    const { window, hop, rate_hz } = plan
    const whole = spectrogram(signals.channels['gyro.roll']!, {
      ...{ rate_hz, window, hop },
      breaks: clockBreaks(signals.t_s),
    })
    expect([plan.first, plan.last]).toEqual([0, whole.frames])
    expect(lane.frames).toBe(whole.frames)
    let empty = 0
    lane.level_db.forEach((level, cell) => {
      const wanted = whole.level_db[cell]!
      if (Number.isNaN(wanted)) empty++
      if (Number.isNaN(wanted) ? !Number.isNaN(level) : Math.abs(level - wanted) > 1e-4)
        throw new Error(`cell ${cell}: ${level} for ${wanted}`)
    })
    // The NaN and both gaps bar the frames that hold them.
    expect(empty).toBeGreaterThan(3 * lane.bins)
    lane.t_s.forEach((t_s, frame) => expect(t_s).toBe(signals.t_s[frame * hop + window / 2]))
  })

  test.each([
    [0, end_s],
    [10, 31],
  ])('are the lane from %d to %d s that is written without them', (t0_s, t1_s) => {
    for (const signal of ['gyro', 'motors'] as const) {
      const plan = tilePlan(signals, t0_s, t1_s, 400)!
      const tiles = laneTiles(signals, signal, 'roll', plan, plan.tiles)!
      expect(signalLane(signals, signal, 'roll', t0_s, t1_s, 400)).toEqual(joinTiles(tiles, plan))
    }
  })

  test('hold the same whatever view asks for them', () => {
    const views = [
      [10, 20],
      [10.3, 20.3],
      [12.1234, 22.1234],
      [31, 41],
    ] as const
    const seen = new Map<number, Float32Array>()
    let shared = 0
    for (const [t0_s, t1_s] of views) {
      const lane = spectrogramLane(signals, 'roll', t0_s, t1_s, 400)!
      // The lane reaches over both edges of the view.
      const half_s = lane.hop / lane.rate_hz
      expect(lane.t_s[0]! - half_s).toBeLessThanOrEqual(t0_s)
      expect(lane.t_s.at(-1)! + half_s).toBeGreaterThanOrEqual(t1_s)
      lane.t_s.forEach((t_s, frame) => {
        const own = lane.level_db.subarray(frame * lane.bins, (frame + 1) * lane.bins)
        const before = seen.get(t_s)
        if (before) {
          shared++
          expect(own).toEqual(before)
        } else seen.set(t_s, own)
      })
    }
    expect(shared).toBeGreaterThan(500)
  })

  test('of motors are their mean power', () => {
    // Turned upside down, a motor has the same spectrum.
    const both = signalLane(signals, 'motors', 'roll', 1, 9, 200)!
    const one = { ...signals, channels: { 'motor.1': signals.channels['motor.1']! } }
    const alone = signalLane(one, 'motors', 'roll', 1, 9, 200)!
    alone.level_db.forEach((level, cell) => {
      if (level > -90) expect(Math.abs(level - both.level_db[cell]!)).toBeLessThan(0.05)
    })
  })

  test('that no flight has are a mistake; what is too short or not logged is null', () => {
    const plan = tilePlan(signals, 0, 10, 400)!
    expect(() => laneTiles(signals, 'gyro', 'roll', plan, [9999])).toThrow('no tile 9999')
    expect(laneTiles(signals, 'gyro', 'yaw', plan, [0])).toBeNull()
    // However small the part that is seen, the frames around it are shown.
    expect(tilePlan(signals, 5, 5.001, 400)).toMatchObject({ window: 16, hop: 2 })
    const { t_s, channels, rate_hz } = signals
    const few = {
      rate_hz,
      t_s: t_s.subarray(0, 9),
      channels: { 'gyro.roll': channels['gyro.roll']!.subarray(0, 9) },
    }
    expect(tilePlan(few, 0, 1, 400)).toBeNull()
    expect(tilePlan(signals, 90, 99, 400)).toBeNull()
  })
})

describe('a view that is moved', () => {
  const computed: number[] = []
  const compute: Parameters<typeof laneFrom>[4] = ({ signal, axis }, layout, tiles) => {
    computed.push(...tiles)
    return Promise.resolve(laneTiles(signals, signal, axis, layout, tiles))
  }
  const of = (contentHash: string): LaneOf => ({
    ...{ signals, signal: 'gyro', axis: 'roll' },
    detail: { contentHash, reading: 'as read' },
  })
  const look = async (t0_s: number, hash = 'one') => {
    computed.length = 0
    const lane = await laneFrom(of(hash), t0_s, t0_s + 12, 400, compute)
    expect(lane).toEqual(spectrogramLane(signals, 'roll', t0_s, t0_s + 12, 400))
    return [...computed]
  }

  test('computes only the tiles that come into it, and none on the way back', async () => {
    const first = await look(5)
    const { hop } = tilePlan(signals, 5, 17, 400)!
    const tile_s = (TILE_FRAMES * hop) / RATE_HZ
    expect(first.length).toBeGreaterThanOrEqual(Math.floor(12 / tile_s))
    expect(await look(5.01)).toEqual([])
    const moved = await look(5 + tile_s)
    expect(moved).toEqual([first.at(-1)! + 1])
    expect(await look(5)).toEqual([])
  })

  test('meets no tiles of other samples', async () => {
    const first = await look(5)
    expect(first).toEqual([])
    expect((await look(5, 'another')).length).toBeGreaterThan(0)
  })
})
