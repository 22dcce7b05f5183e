import { describe, expect, test } from 'vitest'
import type { FlightSignals } from '../../../workers/flight/signals.ts'
import type { Manoeuvre } from '../../../workers/manoeuvre/manoeuvre.ts'
import { pairTraces } from '../../../workers/verdict/pair-traces.ts'

/** A flight whose setpoint is a half sine up to its stop and whose gyro comes 10 ms later. */
function flight(rate_hz: number, stop_s: number, peak_dps: number): FlightSignals {
  const t_s = Float64Array.from({ length: 6 * rate_hz }, (_, n) => n / rate_hz)
  const hump = (t: number) =>
    t > stop_s - 0.6 && t < stop_s ? peak_dps * Math.sin((Math.PI * (t - stop_s + 0.6)) / 0.6) : 0
  return {
    t_s,
    rate_hz,
    channels: {
      'setpoint.roll': Float32Array.from(t_s, hump),
      'gyro.roll': Float32Array.from(t_s, (t) => hump(t - 0.01)),
      'gyro.pitch': new Float32Array(t_s.length).fill(3),
    },
  }
}

const manoeuvre = (id: string, stop_s: number | null, start_s: number): Manoeuvre => ({
  id,
  kind: stop_s === null ? 'sweep' : 'turn',
  name: 'roll right',
  axis: 'roll',
  direction: 1,
  start_s,
  end_s: start_s + 0.6,
  stop_s,
  inputs: {
    peak_dps: null,
    snap_dps2: null,
    duration_s: 0.6,
    throttle: null,
    load: null,
    step: null,
    angle_deg: null,
    voltage_V: null,
  },
  edited: false,
})

const flights = { a: flight(2000, 2, 500), b: flight(100, 3.5, -640) }
const manoeuvres = { a: [manoeuvre('roll@1.40', 2, 1.4)], b: [manoeuvre('roll@2.90', 3.5, 2.9)] }
const pair = { a: 'roll@1.40', b: 'roll@2.90', axis: 'roll', differences: [] } as const

describe('the traces of a pair', () => {
  const traces = pairTraces(flights, manoeuvres, pair, 90)!

  test('lie over each other by the stop, on one scale', () => {
    expect(traces.from_s).toBeCloseTo(-0.72, 9)
    expect(traces.to_s).toBe(0.5)
    expect(traces.reach_dps).toBeGreaterThan(630)
    for (const side of ['a', 'b'] as const) {
      const { t_s, rate_dps } = traces[side].setpoint!
      const peak = rate_dps.reduce(
        (best, value, n) => (Math.abs(value) > Math.abs(rate_dps[best]!) ? n : best),
        0,
      )
      expect(t_s[peak]!).toBeCloseTo(-0.3, 1)
      expect(Math.abs(rate_dps.at(-1)!)).toBeLessThan(1e-9)
    }
  })

  test('are means of cells where the log is fast, its own samples where it is slow', () => {
    expect(traces.a.gyro!.t_s.length).toBe(90)
    // 1.22 s at 2 kHz in 90 cells: 27 samples each; the mean of a straight part is the value at the mean time.
    const at = traces.a.setpoint!.t_s.findIndex((t) => t > -0.55)
    const expected = 500 * Math.sin((Math.PI * (traces.a.setpoint!.t_s[at]! + 0.6)) / 0.6)
    expect(Math.abs(traces.a.setpoint!.rate_dps[at]! - expected)).toBeLessThan(2)
    const slow = pairTraces(flights, manoeuvres, pair, 1000)!.b.setpoint!
    // From -0.72 s to 0.5 s, both ends included.
    expect(slow.t_s.length).toBe(123)
  })

  test('swapped flights swap the traces', () => {
    const back = pairTraces(
      { a: flights.b, b: flights.a },
      { a: manoeuvres.b, b: manoeuvres.a },
      { ...pair, a: pair.b, b: pair.a },
      90,
    )!
    expect(back.a).toEqual(traces.b)
    expect(back.b).toEqual(traces.a)
    expect(back.reach_dps).toBe(traces.reach_dps)
  })

  test('throttle manoeuvres show the axis that differs most; what is not logged is missing', () => {
    const key = (axis: string) => `washScore.${axis}` as const
    const differences = [
      { key: key('roll'), a: 1, b: 2, difference: 1 },
      { key: key('pitch'), a: 1, b: -5, difference: -6 },
    ] as never
    const wash = pairTraces(flights, manoeuvres, { ...pair, axis: null, differences }, 90)!
    expect(wash.axis).toBe('pitch')
    expect(wash.a.setpoint).toBeNull()
    expect(wash.reach_dps).toBe(20)
  })

  test('a manoeuvre that was left out meanwhile gives nothing', () => {
    expect(pairTraces(flights, { ...manoeuvres, b: [] }, pair, 90)).toBeNull()
  })
})
