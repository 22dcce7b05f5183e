import { beforeAll, describe, expect, test } from 'vitest'
import { channelEntries, type FlightSignals } from '../../../workers/flight/signals.ts'
import { detectManoeuvres } from '../../../workers/manoeuvre/detect.ts'
import type { Manoeuvre } from '../../../workers/manoeuvre/manoeuvre.ts'
import { findStrokes } from '../../../workers/manoeuvre/strokes.ts'
import { simulateFlight, type FlightRecord } from '../../../workers/model/flight.ts'
import { baseSetup } from '../../../workers/model/scenarios.ts'
import { scoreStops } from '../../studies/score-stops.ts'
import { signalsOf } from './flown.ts'

const STYLES = [
  { seed: 1, pilot: { skill: 0.8, roughness: 0.2 } },
  { seed: 2, pilot: { skill: 0.7, roughness: 0.5 } },
  { seed: 3, pilot: { skill: 0.6, roughness: 0.9 } },
]
let flights: { record: FlightRecord; signals: FlightSignals; found: Manoeuvre[] }[] = []
beforeAll(() => {
  flights = STYLES.map(({ seed, pilot }) => {
    const record = simulateFlight(baseSetup(seed, { pilot, logRate_hz: 500 }))
    const signals = signalsOf(record)
    return { record, signals, found: detectManoeuvres(signals) }
  })
}, 60_000)

describe('manoeuvres against the truth of simulated flights', () => {
  test('stops: recall and precision of at least 95 % under gentle and rough hands', () => {
    let [hits, wanted, found] = [0, 0, 0]
    for (const flight of flights) {
      const one = scoreStops(flight.record, flight.found)
      hits += one.hits
      wanted += one.wanted
      found += one.found
    }
    expect(wanted).toBeGreaterThan(70)
    expect(hits / wanted).toBeGreaterThanOrEqual(0.95)
    expect(hits / found).toBeGreaterThanOrEqual(0.95)
  })

  test('every sweep, punch, and caught drop is found', () => {
    for (const { record, found } of flights) {
      for (const flown of record.manoeuvres) {
        const kind =
          flown.kind === 'sweep' || flown.kind === 'punch'
            ? flown.kind
            : flown.kind === 'wash dive'
              ? 'wash'
              : null
        if (kind === null) continue
        const match = found.find(
          (one) => one.kind === kind && one.start_s < flown.end_s && one.end_s > flown.start_s,
        )
        expect(match, `${flown.kind} at ${flown.start_s}`).toBeDefined()
      }
    }
  })

  test("the battery's voltage at each manoeuvre is what the record says, and null where it is not logged", () => {
    const { record, signals, found } = flights[0]!
    for (const { stop_s, inputs } of found) {
      if (stop_s === null) continue
      const at = Math.round((stop_s + 0.125) * 500)
      expect(Math.abs(inputs.voltage_V! - record.voltage_V[at]!)).toBeLessThan(0.8)
      expect(inputs.voltage_V!).toBeGreaterThan(10)
    }
    const channels = { ...signals.channels }
    delete channels.battery
    for (const { inputs } of detectManoeuvres({ ...signals, channels })) expect(inputs.voltage_V).toBeNull()
  })

  test('hovering lies outside of all that is flown', () => {
    for (const { record, found } of flights) {
      const hovers = found.filter(({ kind }) => kind === 'hover')
      expect(hovers.length).toBeGreaterThan(5)
      const turns = record.manoeuvres.filter(({ kind }) =>
        ['roll', 'flip', 'snap', 'wash dive'].includes(kind),
      )
      for (const hover of hovers)
        for (const turn of turns)
          expect(hover.start_s < turn.end_s - 0.1 && hover.end_s > turn.start_s + 0.1, hover.id).toBe(false)
    }
  })
})

describe('laws of detection', () => {
  test('the gyro has no say: without it, or with another, the same is found', () => {
    const { signals, found } = flights[0]!
    const channels = { ...signals.channels }
    for (const axis of ['roll', 'pitch', 'yaw'] as const) delete channels[`gyro.${axis}`]
    expect(detectManoeuvres({ ...signals, channels })).toEqual(found)
  })

  test('a mirrored flight has the same manoeuvres on the other side', () => {
    const { signals, found } = flights[0]!
    const channels = { ...signals.channels }
    channels['setpoint.roll'] = signals.channels['setpoint.roll']!.map((value) => -value)
    const mirrored = detectManoeuvres({ ...signals, channels })
    expect(
      mirrored.map(({ id, direction, axis }) => `${id} ${axis === 'roll' ? -direction || 0 : direction}`),
    ).toEqual(found.map(({ id, direction }) => `${id} ${direction}`))
  })

  test('at 100 Hz nearly the same stops are found', () => {
    const { signals, found } = flights[0]!
    const channels: FlightSignals['channels'] = Object.fromEntries(
      channelEntries(signals).map(([name, values]) => [name, values.filter((_, n) => n % 5 === 0)]),
    )
    const t_s = signals.t_s.filter((_, n) => n % 5 === 0)
    const slow = detectManoeuvres({ t_s, rate_hz: 100, channels })
    const stops = (list: readonly Manoeuvre[]) =>
      list.filter(({ kind }) => kind === 'turn' || kind === 'snap')
    expect(stops(slow).length).toBe(stops(found).length)
    stops(slow).forEach((one, k) => expect(one.stop_s).toBeCloseTo(stops(found)[k]!.stop_s!, 1))
  })

  test('edits put a kind right, leave one out, and leave the rest alone', () => {
    const { signals, found } = flights[0]!
    const [first, second] = found.filter(({ kind }) => kind === 'snap')
    const edited = detectManoeuvres(signals, {
      edits: [
        { id: first!.id, leaveOut: true },
        { id: second!.id, kind: 'swing' },
        { id: 'roll@999.00', leaveOut: true },
      ],
    })
    expect(edited.length).toBe(found.length - 1)
    expect(edited.find(({ id }) => id === first!.id)).toBeUndefined()
    expect(edited.find(({ id }) => id === second!.id)).toMatchObject({ kind: 'swing', edited: true })
  })

  test('no setpoint: sticks serve; neither: only the throttle speaks; nothing at all: nothing', () => {
    const { signals, found } = flights[0]!
    const { throttle } = signals.channels
    const sticks = Object.fromEntries(
      Object.entries(signals.channels).filter(([name]) => name.startsWith('stick') || name === 'throttle'),
    )
    const turns = (list: readonly Manoeuvre[]) => list.filter(({ kind }) => kind === 'turn').length
    expect(turns(detectManoeuvres({ ...signals, channels: sticks }))).toBe(turns(found))
    const alone = detectManoeuvres({ ...signals, channels: { throttle: throttle! } })
    expect(alone.every(({ axis }) => axis === null)).toBe(true)
    expect(detectManoeuvres({ ...signals, channels: {} })).toEqual([])
  })
})

describe('one stroke', () => {
  /** A stroke of half a sine, 400 deg/s over 0.4 s from 1 s on. */
  const half = Float64Array.from({ length: 600 }, (_, n) => {
    const share = (n / 200 - 1) / 0.4
    return share > 0 && share < 1 ? 400 * Math.sin(Math.PI * share) : 0
  })

  test('its peak, angle and stop', () => {
    const [stroke, ...others] = findStrokes(half, 200)
    expect(others).toEqual([])
    expect(stroke!.peak_dps).toBeCloseTo(400, 0)
    // Area of half a sine: 2 A T / pi.
    expect(stroke!.angle_deg).toBeCloseTo((2 * 400 * 0.4) / Math.PI, 0)
    // Down to 6 % of the peak: asin(.06)/pi of the stroke before its end.
    expect(stroke!.stop / 200).toBeCloseTo(1.4 - (0.4 * Math.asin(0.06)) / Math.PI, 2)
    expect(stroke!.snap_dps2).toBeGreaterThan(0.9 * ((400 * Math.PI) / 0.4))
    expect(stroke!.snap_dps2).toBeLessThan(1.02 * ((400 * Math.PI) / 0.4))
  })

  test('one that runs into a gap or the end is left out', () => {
    const gap = half.map((value, n) => (n > 250 && n < 260 ? NaN : value))
    expect(findStrokes(gap, 200)).toEqual([])
    expect(findStrokes(half.subarray(0, 250), 200)).toEqual([])
  })
})
