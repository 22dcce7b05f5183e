import { beforeAll, describe, expect, test } from 'vitest'
import type { FlightSignals } from '../../../workers/flight/signals.ts'
import { isProblem } from '../../../workers/log/problems.ts'
import { compareFlights } from '../../../workers/verdict/compare-flights.ts'
import type { Comparison, MeasureVerdict } from '../../../workers/verdict/comparison.ts'
import { FIRMER, flown, MUCH_ROUGHER, ROUGHER, SOFT } from '../../studies/flights.ts'
import { researchQuad } from './research-quad.ts'

const clear = ({ word }: MeasureVerdict) => word === 'better' || word === 'worse'
const headline = (comparison: Comparison) => comparison.measures.filter((measure) => measure.headline)
const find = (comparison: Comparison, key: string) =>
  comparison.measures.find((measure) => measure.key === key)!

let base: FlightSignals
let soft: FlightSignals
let firmer: FlightSignals
let improved: Comparison
beforeAll(() => {
  base = flown(1).signals
  soft = flown(2, { tune: SOFT }).signals
  firmer = flown(3, { tune: FIRMER }).signals
  improved = compareFlights(soft, firmer)
}, 60_000)

describe('words on simulated flights (a small version of the study in test/studies)', () => {
  test('A against A: no clear difference or can not tell, everywhere, with differences of 0', () => {
    const same = compareFlights(base, base)
    expect(same.measures.some(clear)).toBe(false)
    expect(find(same, 'trackingError.roll').word).toBe('no clear difference')
    expect(find(same, 'bouncePeak.pitch').word).toBe('no clear difference')
    for (const { effect } of same.measures) if (effect !== null) expect(Math.abs(effect)).toBeLessThan(1e-9)
    expect(same.unmatched.shareA).toBe(0)
    for (const { after } of same.balance) expect(after!.standardisedDifference).toBe(0)
    expect(same.verdict.word).toBe('no clear difference')
  })

  test('the same tune flown 30 % rougher, and much rougher: no headline is called better or worse', () => {
    for (const [seed, pilot] of [
      [11, ROUGHER],
      [12, MUCH_ROUGHER],
    ] as const) {
      const rougher = compareFlights(base, flown(seed, { pilot }).signals)
      expect(
        headline(rougher)
          .filter(clear)
          .map(({ key }) => key),
      ).toEqual([])
      expect(find(rougher, 'trackingError.roll').pairs).toBeGreaterThan(8)
    }
  })

  test('P and D up by 40 % on a soft loop: better on bounce-back, lag and tracking error', () => {
    for (const axis of ['roll', 'pitch']) {
      expect(find(improved, `bouncePeak.${axis}`).pairs).toBeGreaterThanOrEqual(12)
      expect(find(improved, `lag.${axis}`).word).toBe('better')
      expect(find(improved, `trackingError.${axis}`).word).toBe('better')
    }
    expect([find(improved, 'bouncePeak.roll').word, find(improved, 'bouncePeak.pitch').word]).toContain(
      'better',
    )
    expect(improved.verdict.word).toBe('better')
    expect(improved.verdict.sentence).toMatch(/^B is better on roll \(.*lag.*\) and pitch/)
  })
})

describe('what every comparison keeps to', () => {
  test('swapping the flights mirrors every number and turns every word', () => {
    const turned = compareFlights(firmer, soft)
    const opposite: Record<string, string> = { better: 'worse', worse: 'better' }
    improved.measures.forEach((there, k) => {
      const back = turned.measures[k]!
      expect(back.key).toBe(there.key)
      expect(back.word).toBe(opposite[there.word] ?? there.word)
      const negative = (value: number | null | undefined) => (value == null ? null : -value + 0)
      const close = (x: number | null | undefined, y: number | null | undefined) => {
        if (x == null || y == null) expect(x ?? null).toBe(y ?? null)
        else expect(Math.abs(x - y), `${there.key} ${x} ${y}`).toBeLessThan(1e-7 * (1 + Math.abs(x)))
      }
      close(back.effect, negative(there.effect))
      close(back.interval?.low, negative(there.interval?.high))
      close(back.interval?.high, negative(there.interval?.low))
      close(back.secondOpinion?.effect, negative(there.secondOpinion?.effect))
      close(back.secondOpinion?.low, negative(there.secondOpinion?.high))
      close(back.bootstrap?.low, negative(there.bootstrap?.high))
      close(back.a, there.b)
      close(back.p, there.p)
      close(back.adjustedP, there.adjustedP)
      expect(back.pairs).toBe(there.pairs)
      expect(back.pairsNeeded).toBe(there.pairsNeeded)
    })
    const keys = (comparison: Comparison, swap: boolean) =>
      comparison.pairs.map(({ a, b }) => (swap ? `${b} ${a}` : `${a} ${b}`)).sort()
    expect(keys(turned, true)).toEqual(keys(improved, false))
    expect(turned.unmatched.a).toEqual(improved.unmatched.b)
  })

  test('it is plain data: a structured clone and JSON bring it back whole', () => {
    expect(structuredClone(improved)).toEqual(improved)
    expect(JSON.parse(JSON.stringify(improved))).toEqual(improved)
  })

  test('pairs are alike, each manoeuvre is used once, and what is left has its reason', () => {
    for (const side of ['a', 'b'] as const) {
      const used = improved.pairs.map((pair) => pair[side])
      const lone = improved.unmatched[side].map(({ id }) => id)
      expect(new Set([...used, ...lone]).size).toBe(used.length + lone.length)
      for (const { reason } of improved.unmatched[side]) expect(reason).toMatch(/\.$/)
    }
    for (const { a, b, distance } of improved.pairs) {
      expect(distance).toBeLessThanOrEqual(1)
      const one = improved.a.manoeuvres.find(({ id }) => id === a)!
      const other = improved.b.manoeuvres.find(({ id }) => id === b)!
      expect([other.axis, other.kind, other.direction]).toEqual([one.axis, one.kind, one.direction])
    }
    const sizes = improved.pairs.map(({ size }) => size)
    expect(sizes).toEqual([...sizes].sort((x, y) => y - x))
  })

  test("Holm goes over the headline measures, Benjamini and Hochberg's over the rest, and only raises p", () => {
    for (const { headline, adjustment, p, adjustedP, pairs } of improved.measures) {
      if (adjustedP === null) continue
      expect(adjustment).toBe(headline ? 'Holm' : 'Benjamini-Hochberg')
      expect(adjustedP).toBeGreaterThanOrEqual(p!)
      if (pairs > 0) expect(pairs).toBeGreaterThanOrEqual(6)
    }
  })

  test('every word has its reason, every sentence rests on something that is there', () => {
    for (const { reason } of improved.measures) expect(reason).toMatch(/[.]$/)
    expect(improved.reading.length).toBeGreaterThan(0)
    expect(improved.reading.length).toBeLessThanOrEqual(3)
    const ids = new Set([...improved.a.manoeuvres, ...improved.b.manoeuvres].map(({ id }) => id))
    for (const { rests, standing, caution, sentence } of improved.reading) {
      expect(rests.measures.length + rests.manoeuvres.length).toBeGreaterThan(0)
      for (const key of rests.measures) expect(find(improved, key)).toBeDefined()
      for (const id of rests.manoeuvres) expect(ids.has(id)).toBe(true)
      if (standing === 'common practice') expect(caution, sentence).not.toBeNull()
    }
  })

  test('a larger difference that matters turns better into no clear difference', () => {
    const strict = compareFlights(soft, firmer, { deltas: { lag: 30, trackingError: 60 } })
    expect(find(strict, 'lag.roll').word).toBe('no clear difference')
    expect(find(strict, 'trackingError.roll').word).toBe('no clear difference')
    expect(() => compareFlights(soft, firmer, { deltas: { lag: 0 } })).toThrow('positive')
  })

  test('a repeat flight that differs as much as B does takes the word away', () => {
    const alike = compareFlights(soft, firmer, {}, { signals: flown(4, { tune: SOFT }).signals, of: 'a' })
    const floor = find(alike, 'lag.roll').floor
    expect(floor).not.toBeNull()
    expect(floor!).toBeLessThan(2)
    expect(find(alike, 'lag.roll').word).toBe('better')
    const range = find(alike, 'lag.roll').floorRange!
    expect(range.low).toBeLessThanOrEqual(floor!)
    expect(range.high).toBeGreaterThanOrEqual(floor!)
    expect(range.pairs).toBeGreaterThanOrEqual(6)
    expect(range.coverage).toBeGreaterThanOrEqual(0.95)
    expect(alike.repeat).toMatchObject({ of: 'a' })
    expect(alike.repeat!.pairs).toBeGreaterThan(20)
    expect(find(alike, 'rise.roll').floor).not.toBeNull()
    expect(alike.cautions[0]).toMatch(/one repeat of A \(\d+ pairs/)
    const unlike = compareFlights(soft, firmer, {}, { signals: flown(5, { tune: FIRMER }).signals, of: 'a' })
    expect(find(unlike, 'lag.roll').floor!).toBeGreaterThan(4)
    expect(find(unlike, 'lag.roll').word).not.toBe('worse')
  })

  test('a repeat of B: swapped, it is one of A, and every floor stays', () => {
    const again = flown(6, { tune: FIRMER }).signals
    const there = compareFlights(soft, firmer, {}, { signals: again, of: 'b' })
    const back = compareFlights(firmer, soft, {}, { signals: again, of: 'a' })
    expect(there.measures.map(({ floor }) => floor)).toEqual(back.measures.map(({ floor }) => floor))
    expect(there.measures.map(({ floorRange }) => floorRange)).toEqual(
      back.measures.map(({ floorRange }) => floorRange),
    )
    expect(there.measures.filter(({ floor }) => floor !== null).length).toBeGreaterThan(10)
    expect(back.measures.map(({ word }) => word)).toEqual(
      there.measures.map(({ word }) => (word === 'better' ? 'worse' : word === 'worse' ? 'better' : word)),
    )
  })

  test('the declared headline measures are what Holm pays for; leaving it out is said', () => {
    const few = compareFlights(soft, firmer, { headline: ['lag'] })
    expect(few.measures.filter(({ headline }) => headline).map(({ id }) => id)).toEqual(['lag', 'lag', 'lag'])
    expect(find(few, 'trackingError.roll').adjustment).toBe('Benjamini-Hochberg')
    expect(find(few, 'lag.roll').adjustedP!).toBeLessThanOrEqual(find(improved, 'lag.roll').adjustedP!)
    expect(few.verdict.sentence).not.toMatch(/tracking/)
    const bare = compareFlights(soft, firmer, { adjust: 'none' })
    for (const { p, adjustedP, adjustment } of bare.measures)
      if (adjustment !== null) expect([adjustment, adjustedP]).toEqual(['none', p])
    expect(bare.cautions.join(' ')).toMatch(/Not adjusted for looking at several/)
  })

  test('edits: what is left out is in no pair', () => {
    const gone = improved.pairs.find(({ name }) => name.startsWith('roll'))!.a
    const edited = compareFlights(soft, firmer, { edits: { a: [{ id: gone, leaveOut: true }] } })
    expect(edited.pairs.some(({ a }) => a === gone)).toBe(false)
    expect(edited.a.manoeuvres.length).toBe(improved.a.manoeuvres.length - 1)
  })

  test('it tells how far it is, and stops when told to', () => {
    const shares: number[] = []
    compareFlights(base, base, { onProgress: (share) => shares.push(share) })
    expect(shares).toEqual([...shares].sort((x, y) => x - y))
    expect(shares.at(-1)).toBe(1)
    let asked = 0
    const stop = () => compareFlights(base, base, { isCancelled: () => ++asked > 2 })
    expect(stop).toThrow()
    try {
      asked = 0
      stop()
    } catch (problem) {
      expect(isProblem(problem) && problem.code).toBe('cancelled')
    }
  })
})

describe('logs that lack something', () => {
  const without = (signals: FlightSignals, prefix: string): FlightSignals => ({
    ...signals,
    channels: Object.fromEntries(
      Object.entries(signals.channels).filter(([name]) => !name.startsWith(prefix)),
    ),
  })

  test('no setpoint, gyro, motors, throttle: refused with the reason, nothing crashes', () => {
    const cases: [string, RegExp][] = [
      ['setpoint', /no setpoint for roll/],
      ['gyro', /no gyro for roll/],
    ]
    for (const [prefix, reason] of cases) {
      const poor = compareFlights(base, without(base, prefix))
      const tracking = find(poor, 'trackingError.roll')
      expect(tracking.word).toBe("can't tell")
      expect(tracking.reason).toMatch(reason)
      expect(poor.verdict.word).toBe("can't tell")
    }
    const noMotors = compareFlights(base, without(base, 'motor'))
    expect(find(noMotors, 'motorTop.craft').reason).toMatch(/no motors/)
    expect(noMotors.headroom.b).toBeNull()
    const noBattery = compareFlights(base, without(base, 'battery'))
    expect(noBattery.notCompared.map(({ input }) => input)).toEqual(['battery voltage'])
    expect(noBattery.balance.some(({ input }) => input === 'battery voltage')).toBe(false)
    expect(noBattery.pairs.length).toBeGreaterThan(20)
    const noThrottle = compareFlights(without(base, 'throttle'), without(base, 'throttle'))
    expect(find(noThrottle, 'lag.roll').word).toBe('no clear difference')
    const empty: FlightSignals = { t_s: new Float64Array(0), rate_hz: NaN, channels: {} }
    expect(compareFlights(empty, empty).verdict.word).toBe("can't tell")
  })

  const original = researchQuad('gains-original', 'gains')
  const changed = researchQuad('gains-i0-d4', 'gains')
  test.skipIf(!original || !changed)(
    'research quad at 100 Hz: no word that 100 Hz can not carry; swap symmetry',
    () => {
      const there = compareFlights(original!, changed!)
      const back = compareFlights(changed!, original!)
      expect(headline(there).filter(clear)).toEqual([])
      expect(find(there, 'noiseLow.roll').reason).toMatch(/100 Hz/)
      expect(there.cautions.join(' ')).toMatch(/below 200 Hz/)
      there.measures.forEach((measure, k) => {
        const other = back.measures[k]!
        if (measure.effect === null) expect(other.effect).toBeNull()
        else expect(other.effect).toBeCloseTo(-measure.effect, 6)
      })
    },
  )

  const a = researchQuad('controller-a', 'controller')
  const b = researchQuad('controller-b', 'controller')
  test.skipIf(!a || !b)('research quad without commanded rates: says so', () => {
    const comparison = compareFlights(a!, b!)
    expect(comparison.verdict.word).toBe("can't tell")
    expect(comparison.reading[0]!.sentence).toMatch(/no setpoint/)
    expect(comparison.pairs).toEqual([])
  })
})
