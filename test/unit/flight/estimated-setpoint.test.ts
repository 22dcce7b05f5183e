import { describe, expect, test } from 'vitest'
import { traceRows } from '../../../renderer/compare/channels.ts'
import { withEstimates } from '../../../workers/flight/estimated-setpoint.ts'
import { channelEntries, withErrors, type FlightSignals } from '../../../workers/flight/signals.ts'
import { measureFlight } from '../../../workers/comparison/flight-measures.ts'
import { seeded } from '../columns/invented-flight.ts'

const RATE_HZ = 500
const truth_dps = (stick: number): number => 250 * stick + 400 * stick ** 3

/** A stick that is moved and held, a gyro 12 ms behind it; `jump_s` is put into the clock at row 10,000. */
function flown(jump_s = 0): FlightSignals {
  const random = seeded(5)
  const stick = new Float32Array(20_000)
  const gyro = new Float32Array(stick.length)
  let held = 0
  let position = 0
  for (let row = 0; row < stick.length; row += 1) {
    if (row % 250 === 0) held = 2 * random() - 1
    position += Math.max(-0.01, Math.min(0.01, held - position))
    stick[row] = position
    gyro[row] = truth_dps(stick[Math.max(0, row - 6)] as number) + 4 * (random() + random() - 1)
  }
  const t_s = Float64Array.from(stick, (_, row) => row / RATE_HZ + (row >= 10_000 ? jump_s : 0))
  return { t_s, rate_hz: RATE_HZ, channels: { 'stick.roll': stick, 'gyro.roll': gyro } }
}

describe('a setpoint that is not logged', () => {
  test('is estimated from stick and gyro, under a name of its own', () => {
    const signals = withEstimates(withErrors(flown()))
    const { 'stick.roll': stick, 'estimated.roll': estimated } = signals.channels
    for (const row of [300, 5000, 15_123]) {
      const off = (estimated?.[row] as number) - truth_dps(stick?.[row] as number)
      expect(Math.abs(off)).toBeLessThan(13) // 2 % of full rate
    }
    // Drawn in the setpoint's place, and called what it is.
    const [row] = traceRows(channelEntries(signals).map(([name]) => name))
    expect(row?.usual).toEqual(['estimated', 'gyro'])
    expect(row?.channels[0]).toMatchObject({ name: 'setpoint (estimated)', unit: 'deg/s', demand: true })
  })

  test('serves no measure: what follows from a setpoint stays refused', () => {
    const without = measureFlight(withErrors(flown()), 0, 40)
    expect(measureFlight(withEstimates(withErrors(flown())), 0, 40)).toEqual(without)
  })

  test('is not estimated where one is logged, or where a stick or a gyro is missing', () => {
    const { t_s, rate_hz, channels } = flown()
    const { 'stick.roll': stick, 'gyro.roll': gyro } = channels as Required<typeof channels>
    const estimates = (given: FlightSignals['channels']): string[] =>
      channelEntries(withEstimates({ t_s, rate_hz, channels: given }))
        .map(([name]) => name)
        .filter((name) => name.startsWith('estimated'))
    expect(estimates({ 'stick.roll': stick, 'gyro.roll': gyro, 'setpoint.roll': gyro })).toEqual([])
    expect(estimates({ 'stick.roll': stick, 'gyro.pitch': gyro })).toEqual([])
    expect(estimates({ 'stick.roll': stick, 'gyro.roll': gyro })).toEqual(['estimated.roll'])
  })

  test('is fitted on either side of a gap, never across one, and passes over empty cells', () => {
    const jumped = flown(3)
    const { 'stick.roll': stick, 'gyro.roll': gyro } = jumped.channels as Required<typeof jumped.channels>
    // Behind each gap the gyro answers to something else: a stretch across one would take it in.
    const t_s = jumped.t_s.map((stamp, row) => stamp + Math.floor(row / 30))
    const every = stick.map((position, row) => (row % 997 === 0 ? NaN : position))
    const rate_hz = RATE_HZ
    expect(
      withEstimates({ t_s, rate_hz, channels: { 'stick.roll': stick, 'gyro.roll': gyro } }).channels[
        'estimated.roll'
      ],
    ).toBeUndefined()
    const estimated = withEstimates({ ...jumped, channels: { 'stick.roll': every, 'gyro.roll': gyro } })
      .channels['estimated.roll']
    expect(estimated?.[997]).toBeNaN()
    expect(Math.abs((estimated?.[998] as number) - truth_dps(stick[998] as number))).toBeLessThan(13)
  })
})
