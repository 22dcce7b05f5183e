import { describe, expect, test } from 'vitest'
import { AXES, perAxis } from '../../../workers/flight/axes.ts'
import { responseByDemand } from '../../../workers/response/by-demand.ts'
import { stepResponse } from '../../../workers/response/step-response.ts'
import { throttleEvents } from '../../../workers/response/throttle-events.ts'
import { flownFlight, LOG_HZ } from './loop.ts'

const flight = flownFlight(4)
const gyro = perAxis((axis) => flight.gyro_dps[AXES.indexOf(axis)]!)
const setpoint = perAxis((axis) => flight.setpoint_dps[AXES.indexOf(axis)]!)
const fits = perAxis((axis) => {
  const found = stepResponse({ setpoint: setpoint[axis], gyro: gyro[axis], rate_hz: LOG_HZ })
  return found.kind === 'refused' ? null : found.fit
})
const events = throttleEvents({ throttle: flight.throttle, gyro, setpoint, rate_hz: LOG_HZ, fits })

describe('throttle events of a simulated flight', () => {
  test('wash shakes the craft where the simulator says its wake did', () => {
    expect(events.washEvents.length).toBeGreaterThanOrEqual(2)
    for (const axis of ['roll', 'pitch'] as const) {
      const wash = events.wash[axis]
      if (wash.kind === 'refused') throw new Error(wash.reason)
      expect(wash.unit).toBe('dB')
      expect(wash.value).toBeGreaterThan(6)
      expect(wash.cautions).toEqual([])
    }
    const within = events.washEvents.filter(({ start, end }) =>
      flight.washSpans.some(
        ({ start_s, end_s }) => flight.t_s[start]! < end_s && flight.t_s[end - 1]! > start_s,
      ),
    )
    expect(within.length).toBeGreaterThanOrEqual(0.7 * events.washEvents.length)
  })

  test('without a fit the score says that the stick counts too', () => {
    const plain = throttleEvents({ throttle: flight.throttle, gyro, setpoint, rate_hz: LOG_HZ })
    expect(plain.wash.roll.cautions.join()).toContain('asked for')
  })

  test('punches are found, their drift in degrees', () => {
    expect(events.drifts.length).toBeGreaterThanOrEqual(2)
    const drift = events.drift.pitch
    if (drift.kind === 'refused') throw new Error(drift.reason)
    expect(drift.unit).toBe('deg')
    expect(drift.value).toBeGreaterThan(0)
    expect(drift.value).toBeLessThan(20)
  })

  test('a flight without throttle movements has none, in words', () => {
    const still = throttleEvents({
      throttle: new Float32Array(flight.rows).fill(0.4),
      gyro,
      setpoint,
      rate_hz: LOG_HZ,
    })
    expect(still.drift.roll.kind === 'refused' && still.drift.roll.reason).toContain('punches')
    expect(still.wash.yaw.kind === 'refused' && still.wash.yaw.reason).toContain('drops')
  })
})

test('small and large demands are estimated apart, each with what it has left out', () => {
  const { split_dps, small, large } = responseByDemand({
    setpoint: setpoint.roll,
    gyro: gyro.roll,
    rate_hz: LOG_HZ,
  })
  expect(split_dps).toBeGreaterThan(50)
  for (const part of [small, large]) {
    const basis = part.kind === 'refused' ? part : part.curve
    expect(basis.exclusions.some(({ what }) => what.includes(`${split_dps.toFixed(0)} deg/s`))).toBe(true)
  }
  const still = responseByDemand({
    setpoint: new Float32Array(9000),
    gyro: gyro.roll.subarray(0, 9000),
    rate_hz: 1000,
  })
  expect(still.small.kind).toBe('refused')
})
