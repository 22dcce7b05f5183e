import { describe, expect, test } from 'vitest'
import { alignFlights } from '../../../workers/align/align.ts'
import { alignable } from '../../../workers/comparison/alignable.ts'
import { buildPicture, type PictureRequest } from '../../../workers/comparison/build-picture.ts'
import { measureSpan } from '../../../workers/comparison/flight-measures.ts'
import { commonSpan, rateRange, wholeSpan } from '../../../workers/comparison/ranges.ts'
import { spectrogramLane } from '../../../workers/comparison/spectra.ts'
import { perAxis } from '../../../workers/flight/axes.ts'
import { channelEntries, type ChannelName, type FlightSignals } from '../../../workers/flight/signals.ts'
import { buildPyramid, type Pyramid } from '../../../workers/reduce/pyramid.ts'
import { syntheticFlight } from './synthetic-flight.ts'

function drawn(signals: FlightSignals) {
  const pyramids: Partial<Record<ChannelName, Pyramid>> = {}
  for (const [name, samples] of channelEntries(signals)) pyramids[name] = buildPyramid(samples)
  return { signals, pyramids }
}

function requestFor(a: FlightSignals, b: FlightSignals): PictureRequest {
  const alignment = alignFlights({ a: alignable(a), b: alignable(b) })
  const { offset_s } = alignment
  const span = commonSpan(a, b, offset_s)!
  return {
    title: 'Before against after',
    theme: 'light',
    width_px: 1200,
    note: '',
    a: drawn(a),
    b: drawn(b),
    words: { a: { name: 'one', craft: 'Lantern', date: null }, b: { name: 'two', craft: '', date: '9 May' } },
    alignment,
    offset_s,
    ...span,
    measures: measureSpan(a, b, offset_s, span.t0_s, span.t1_s),
    lanes: {
      a: perAxis((axis) => spectrogramLane(a, axis, span.t0_s, span.t1_s, 300)),
      b: perAxis((axis) => spectrogramLane(b, axis, span.t0_s - offset_s, span.t1_s - offset_s, 300)),
    },
  }
}

describe('the picture of a comparison', () => {
  const a = syntheticFlight({ rate_hz: 500, duration_s: 20 })
  const b = syntheticFlight({ rate_hz: 250, duration_s: 18, delay_s: 0.05 })

  test('locks one scale per axis and one band that both flights hold', () => {
    const model = buildPicture(requestFor(a, b))
    expect(model.spectrograms!.fMax_hz).toBe(125)
    for (const row of model.rows) {
      expect(row.yMin).toBe(-row.yMax)
      for (const trace of row.traces)
        for (const value of trace.y) expect(Math.abs(value)).toBeLessThanOrEqual(row.yMax)
    }
  })

  test('puts B on the clock of A', () => {
    const knocked = syntheticFlight({ rate_hz: 250, duration_s: 18, delay_s: 0.05 })
    knocked.channels['gyro.roll']![1750] = 5000 // at 7 s of B's own clock
    const request = requestFor(a, knocked)
    const knockAt = (offset_s: number) => {
      const { t_s, y } = buildPicture({ ...request, offset_s }).rows[0]!.traces.find(
        ({ flight, signal }) => flight === 'b' && signal === 'gyro',
      )!
      return t_s[y.indexOf(Math.max(...y.filter((value) => !Number.isNaN(value))))]
    }
    expect(knockAt(request.offset_s)).toBeCloseTo(7 + request.offset_s, 1)
    expect(knockAt(2.5)).toBeCloseTo(9.5, 1)
    const moved = buildPicture({ ...request, offset_s: 2.5 })
    expect(moved.alignment).toMatch(/set by hand/)
  })

  test('says what is left out', () => {
    const channels: Partial<Record<ChannelName, Float32Array>> = { ...b.channels }
    delete channels['setpoint.yaw']
    delete channels.throttle
    const model = buildPicture(requestFor(a, { ...b, channels }))
    expect(model.footer.leftOut).toEqual([
      'No setpoint of yaw in B.',
      'No throttle in B.',
      'Not asked for: motors.',
    ])
    const cell = model.measures[0]!.cells.yaw!
    expect(cell.a).toBeGreaterThan(0)
    expect(cell).toMatchObject({
      b: null,
      difference: null,
      reason: 'B: The log holds no setpoint for this axis.',
    })
  })
})

describe('spans and scales', () => {
  const a = syntheticFlight({ rate_hz: 100, duration_s: 10 })
  test('the common span is where both have samples, the whole where one has', () => {
    expect(commonSpan(a, a, 4)).toEqual({ t0_s: 4, t1_s: 9.99 })
    expect(wholeSpan(a, a, 4)).toEqual({ t0_s: 0, t1_s: 13.99 })
    expect(commonSpan(a, a, 11)).toBeNull()
  })

  test('a scale holds every sample of both flights and is the same for either order', () => {
    const hard = drawn(syntheticFlight({ rate_hz: 100, duration_s: 10, amplitude_dps: 700 }))
    const soft = drawn(a)
    const all = { t0_s: 0, t1_s: 10 }
    const range = rateRange(
      [
        { flight: soft, ...all },
        { flight: hard, ...all },
      ],
      'roll',
    )
    expect(range).toEqual(
      rateRange(
        [
          { flight: hard, ...all },
          { flight: soft, ...all },
        ],
        'roll',
      ),
    )
    expect(range.max).toBeGreaterThanOrEqual(Math.max(...hard.signals.channels['gyro.roll']!))
  })
})

describe('a spectrogram lane', () => {
  test('a tone stands in its bin, at the time it was flown', () => {
    const rate_hz = 1000
    const gyro = Float32Array.from({ length: 8000 }, (_, index) =>
      index < 4000 ? 0 : 50 * Math.sin((2 * Math.PI * 125 * index) / rate_hz),
    )
    const t_s = Float64Array.from(gyro, (_, index) => index / rate_hz)
    const lane = spectrogramLane({ t_s, rate_hz, channels: { 'gyro.roll': gyro } }, 'roll', 0, 8, 400)!
    const levelAt = (at_s: number, f_hz: number) => {
      const frame = lane.t_s.findIndex((middle_s) => middle_s >= at_s)
      return lane.level_db[frame * lane.bins + Math.round(f_hz / lane.f_hz[1]!)]!
    }
    expect(levelAt(6, 125)).toBeGreaterThan(20)
    expect(levelAt(2, 125)).toBeLessThan(-50)
    expect(levelAt(6, 300)).toBeLessThan(-20)
  })

  test('is empty over a gap of the clock, and absent without a gyro', () => {
    const t_s = Float64Array.from({ length: 4000 }, (_, index) => index / 1000 + (index >= 2000 ? 1 : 0))
    const signals = {
      t_s,
      rate_hz: 3999 / t_s.at(-1)!,
      channels: { 'gyro.roll': new Float32Array(4000).fill(1) },
    }
    const lane = spectrogramLane(signals, 'roll', 0, 5, 200)!
    expect(lane.level_db.some((level) => Number.isNaN(level))).toBe(true)
    expect(lane.level_db.some((level) => !Number.isNaN(level))).toBe(true)
    expect(spectrogramLane(signals, 'pitch', 0, 5, 200)).toBeNull()
  })
})
