import { describe, expect, test } from 'vitest'
import { frequencyOf } from '../../../workers/comparison/frequency.ts'
import type { ChannelName } from '../../../workers/flight/signals.ts'
import { syntheticFlight } from './synthetic-flight.ts'

describe('one axis of two flights over frequency', () => {
  const a = syntheticFlight({ rate_hz: 1000, duration_s: 30, delay_s: 0.02 })
  const b = syntheticFlight({ rate_hz: 500, duration_s: 30, delay_s: 0.04, seed: 3 })

  test('maps of logs at other rates have the same bins and are compared on the band that both hold', () => {
    const { difference, a: ofA, b: ofB } = frequencyOf(a, b, 0, 0, 30, 'roll')
    if ('kind' in difference || 'kind' in ofA.noise || 'kind' in ofB.noise)
      throw new Error('maps were refused')
    expect(ofA.noise.f_hz[1]).toBeCloseTo(ofB.noise.f_hz[1]!, 6)
    expect(difference.f_hz.at(-1)).toBeLessThanOrEqual(225)
  })

  test('a delay is most of the error of a flight that is nothing but late', () => {
    const { a: ofA, b: ofB } = frequencyOf(a, b, 0, 0, 30, 'pitch')
    for (const { budget } of [ofA, ofB]) {
      if (budget.kind === 'refused') throw new Error(budget.reason)
      expect(budget.parts.delay / budget.total).toBeGreaterThan(0.95)
      const sum = Object.values(budget.parts).reduce((all, part) => all + part, 0)
      expect(Math.abs(sum / budget.total - 1)).toBeLessThan(1e-9)
    }
    if (ofA.budget.kind === 'refused' || ofB.budget.kind === 'refused') throw new Error('refused')
    expect(ofA.budget.delay_s).toBeCloseTo(0.02, 3)
    expect(ofB.budget.delay_s).toBeCloseTo(0.04, 3)
  })

  test('swapping the flights swaps the halves and turns the difference round', () => {
    const forth = frequencyOf(a, b, 1, 2, 20, 'yaw')
    const back = frequencyOf(b, a, -1, 1, 19, 'yaw')
    expect(back.a.budget).toEqual(forth.b.budget)
    expect(back.b.spectrum).toEqual(forth.a.spectrum)
    if ('kind' in forth.difference || 'kind' in back.difference) throw new Error('refused')
    expect(back.difference.overall_db).toBeCloseTo(-forth.difference.overall_db, 9)
  })

  test('what is missing says so, and the rest is given', () => {
    const channels: Partial<Record<ChannelName, Float32Array>> = { ...b.channels }
    delete channels['setpoint.roll']
    delete channels.throttle
    const { b: ofB, difference } = frequencyOf(a, { ...b, channels }, 0, 0, 30, 'roll')
    expect(ofB.spectrum).toHaveProperty('density')
    expect(ofB.response).toMatchObject({
      kind: 'refused',
      reason: 'The log holds no setpoint for this axis.',
    })
    expect(ofB.noise).toMatchObject({ kind: 'refused' })
    expect(difference).toMatchObject({ kind: 'refused' })
    const outside = frequencyOf(a, b, 0, 100, 120, 'roll')
    expect(outside.a.spectrum).toMatchObject({ kind: 'refused' })
  })
})
