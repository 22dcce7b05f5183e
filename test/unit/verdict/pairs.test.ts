import { describe, expect, test } from 'vitest'
import type { Manoeuvre } from '../../../workers/manoeuvre/manoeuvre.ts'
import { covariance, type Observation } from '../../../workers/verdict/covariance.ts'
import { notCompared } from '../../../workers/verdict/likeness.ts'
import { balanceTable, matchManoeuvres } from '../../../workers/verdict/pairs.ts'

let count = 0
function roll(peak_dps: number, snap_dps2 = 6000, direction: 1 | -1 = 1): Manoeuvre {
  const start_s = count++
  return {
    id: `roll@${start_s}.00`,
    kind: 'turn',
    name: direction > 0 ? 'roll right' : 'roll left',
    axis: 'roll',
    direction,
    start_s,
    end_s: start_s + 0.7,
    stop_s: start_s + 0.7,
    inputs: {
      peak_dps,
      snap_dps2,
      duration_s: 0.7,
      throttle: 0.3,
      load: 1,
      step: null,
      angle_deg: 360,
      voltage_V: null,
    },
    edited: false,
  }
}

describe('pairs', () => {
  test('the best over all, not the nearest first', () => {
    // Nearest first would pair 510 with 515 and leave 500 with 560, which is too far.
    const a = [roll(500), roll(510)]
    const b = [roll(515), roll(560)]
    const { matches } = matchManoeuvres(a, b)
    expect(matches.map((match) => [match.a.inputs.peak_dps, match.b.inputs.peak_dps])).toEqual([
      [500, 515],
      [510, 560],
    ])
  })

  test('never across directions; too different is left alone; every reason is told', () => {
    const { matches, unmatched } = matchManoeuvres([roll(500), roll(300), roll(500, 6000, -1)], [roll(505)])
    expect(matches.length).toBe(1)
    expect(matches[0]!.reason).toMatch(/Both roll right; largest difference: peak rate 1 % apart/)
    expect(unmatched.a.map(({ reason }) => reason)).toEqual([
      'The other flight has no roll left.',
      expect.stringMatching(/flown too differently: peak rate 68 % apart/),
    ])
    expect(unmatched.shareA).toBeCloseTo(2 / 3, 12)
    expect(unmatched.shareB).toBe(0)
  })

  test('nothing on either side gives nothing', () => {
    expect(matchManoeuvres([], []).matches).toEqual([])
    expect(matchManoeuvres([], [roll(500)]).unmatched.shareB).toBe(1)
  })

  test('the balance table tells the difference before, and its absence after', () => {
    const a = [300, 400, 500, 600, 700].map((peak) => roll(peak))
    const b = [400, 500, 600, 700, 800].map((peak) => roll(peak))
    const { matches } = matchManoeuvres(a, b)
    const peak = balanceTable(a, b, matches).find(({ input }) => input === 'peak rate')!
    // Means 500 and 600, SD of 300..700 in steps of 100: 158.11.
    expect(peak.before.standardisedDifference).toBeCloseTo(100 / 158.113883, 6)
    expect(Math.abs(peak.after!.standardisedDifference)).toBeLessThan(peak.before.standardisedDifference)
  })
})

describe('the battery', () => {
  const at = (voltage_V: number | null, peak = 500): Manoeuvre => {
    const one = roll(peak)
    return { ...one, inputs: { ...one.inputs, voltage_V } }
  }

  test('a full and an empty pack are not alike; the like voltages are paired', () => {
    const { matches, unmatched } = matchManoeuvres([at(16.4), at(15.2)], [at(15.1), at(13.4)])
    expect(matches.map(({ a, b }) => [a.inputs.voltage_V, b.inputs.voltage_V])).toEqual([[15.2, 15.1]])
    expect(unmatched.b[0]!.reason).toMatch(/too differently: battery voltage 1[23] % apart/)
    const row = balanceTable([at(16.4), at(15.2)], [at(15.1), at(13.4)], matches)
    expect(row.find(({ input }) => input === 'battery voltage')?.unit).toBe('V')
  })

  test('missing in one log: it takes no part, and that is said', () => {
    const [a, b] = [
      [at(16.4), at(15.2)],
      [at(null), at(null)],
    ]
    expect(matchManoeuvres(a, b).matches.length).toBe(2)
    expect(notCompared(a, b)).toEqual([
      {
        input: 'battery voltage',
        reason: 'The log of B does not hold the battery voltage throughout: it took no part in pairing.',
      },
    ])
    expect(notCompared(b, a)[0]!.reason).toMatch(/^The log of A does not/)
    expect(notCompared(b, b)[0]!.reason).toMatch(/^Neither log/)
    expect(notCompared(a, a)).toEqual([])
  })

  test('four cells against six: nothing would pair, so it is left out and said', () => {
    const [a, b] = [
      [at(16.0), at(15.2)],
      [at(24.1), at(23.2)],
    ]
    expect(matchManoeuvres(a, b).matches.length).toBe(2)
    expect(notCompared(a, b)[0]!.reason).toMatch(/another kind \(A usually 15\.6 V, B 23\.\d V\)/)
  })
})

describe('analysis of covariance', () => {
  /** An answer that grows with the snap; B adds `effect`, and is flown harder. */
  function observations(effect: number, slope = 20): Observation[] {
    return Array.from({ length: 24 }, (_, k): Observation => {
      const flight = k % 2 === 0 ? 'a' : 'b'
      const snap = 5000 * Math.exp(0.3 * Math.sin(k * 2.4) + (flight === 'b' ? 0.25 : 0))
      const manoeuvre = roll(500 * Math.exp(0.05 * Math.cos(k)), snap)
      return { flight, manoeuvre, value: 30 + slope * Math.log(snap) + (flight === 'b' ? effect : 0) }
    })
  }

  test('finds the effect under harder flying exactly, and what a pair owes to its inputs', () => {
    for (const effect of [0, -8]) {
      const model = covariance(observations(effect))!
      expect(model.effect).toBeCloseTo(effect, 8)
      expect(model.explained(roll(500, 5000), roll(500, 10_000))).toBeCloseTo(20 * Math.log(2), 6)
    }
  })

  test('swapping the flights turns the sign and nothing else', () => {
    const there = observations(-8).map((one, k) => ({ ...one, value: one.value + Math.sin(9 * k) }))
    const back = there.map((one): Observation => ({ ...one, flight: one.flight === 'a' ? 'b' : 'a' }))
    expect(covariance(back)!.effect).toBe(-covariance(there)!.effect)
    expect(covariance(back)!.low).toBe(-covariance(there)!.high)
  })

  test('too few observations give no opinion', () => {
    expect(covariance(observations(1).slice(0, 6))).toBeNull()
  })
})
