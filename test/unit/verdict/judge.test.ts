import { describe, expect, test } from 'vitest'
import { draftOf, verdictOf, type Evidence } from '../../../workers/verdict/judge.ts'
import type { MeasureVerdict } from '../../../workers/verdict/comparison.ts'

/** Evidence on lag (lower is better, 2 ms matter) with these differences. */
function judged(differences: readonly number[], changes: Partial<Evidence> = {}): MeasureVerdict {
  const draft = draftOf({
    id: 'lag',
    axis: 'roll',
    a: 20,
    b: 15,
    differences,
    adjustment: 0,
    uneven: false,
    secondOpinion: null,
    headline: true,
    delta: 2,
    floor: null,
    cautions: [],
    whole: null,
    refusal: null,
    ...changes,
  })
  return verdictOf(draft, draft.p)
}

/** A floor that is known this closely, from 12 pairs. */
const floorOf = (size: number, spread = 0.4) => ({
  ...{ size, low: size - spread, high: size + spread },
  ...{ coverage: 0.95, pairs: 12 },
})

const spread = (centre: number, width: number, count = 14) =>
  Array.from({ length: count }, (_, k) => centre + width * (k / (count - 1) - 0.5))

describe('the word', () => {
  test('better, worse, no clear difference, can not tell', () => {
    expect(judged(spread(-6, 4)).word).toBe('better')
    expect(judged(spread(6, 4)).word).toBe('worse')
    expect(judged(spread(0.1, 2)).word).toBe('no clear difference')
    expect(judged(spread(1.5, 12)).word).toBe("can't tell")
  })

  test('a sure but small difference is no clear difference, not better', () => {
    const small = judged(spread(-0.8, 0.5))
    expect(small.p!).toBeLessThan(0.001)
    expect(small.word).toBe('no clear difference')
  })

  test('fewer than six pairs can never settle it, however clear', () => {
    const few = judged([-9, -9.1, -9.2, -9.3, -9.4])
    expect(few.word).toBe("can't tell")
    expect(few.reason).toMatch(/Only 5 pairs/)
    expect(few.pairsNeeded).toBeGreaterThanOrEqual(6)
  })

  test('a floor from a repeat flight raises what matters', () => {
    expect(judged(spread(-6, 4), { floor: floorOf(5) }).word).toBe('better')
    expect(judged(spread(-6, 4), { floor: floorOf(5) }).reason).toMatch(
      /the 5\.0 ms that two flights of the same settings/,
    )
    const within = judged(spread(-6, 4), { floor: floorOf(7) })
    expect(within.word).toBe("can't tell")
    expect(within.reason).toBe(
      'B is 6.0 ms lower, but two flights of the same settings already differ by 7.0 ms.',
    )
    expect(within.pairsNeeded).toBeNull()
  })

  test('a floor that is hardly known is believed as far as it may go', () => {
    // By 5 ms, but as well by 9: 6 ms of B are not told from that.
    const loose = judged(spread(-6, 4), { floor: floorOf(5, 4) })
    expect(loose.word).toBe("can't tell")
    expect(loose.reason).toBe(
      'B is 6.0 ms lower; two flights of the same settings differ by 5.0 ms, which is only known to lie within 9.0 ms: it could be as much.',
    )
    expect(loose.pairsNeeded).toBeNull()
    expect([loose.floor, loose.floorRange]).toEqual([5, floorOf(5, 4)])
    // Nothing for sure, but perhaps 8 ms either way.
    expect(judged(spread(-6, 4), { floor: floorOf(0.2, 8) }).word).toBe("can't tell")
    expect(judged(spread(-12, 4), { floor: floorOf(5, 4) }).word).toBe('better')
    expect(judged(spread(12, 4), { floor: floorOf(5, 4) }).word).toBe('worse')
  })

  test('a floor makes nothing alike: that is for the difference that matters to say', () => {
    expect(judged(spread(0.1, 2), { floor: floorOf(7) }).word).toBe('no clear difference')
    expect(judged(spread(3, 4), { floor: floorOf(7) }).word).toBe("can't tell")
  })

  test('an unadjusted p is told as such', () => {
    const evidence: Evidence = {
      id: 'lag',
      axis: 'roll',
      a: 20,
      b: 15,
      differences: spread(-6, 4),
      adjustment: 0,
      uneven: false,
      secondOpinion: null,
      headline: true,
      delta: 2,
      floor: null,
      cautions: [],
      whole: null,
      refusal: null,
    }
    const draft = draftOf(evidence)
    expect(verdictOf(draft, draft.p, 'none').adjustment).toBe('none')
    expect(verdictOf(draft, draft.p).adjustment).toBe('Holm')
    expect(verdictOf(draftOf({ ...evidence, headline: false }), draft.p).adjustment).toBe(
      'Benjamini-Hochberg',
    )
  })

  test('analysis of covariance that says otherwise takes the word away', () => {
    const against = judged(spread(-6, 4), { secondOpinion: { effect: 1, low: -2, high: 4 } })
    expect(against.word).toBe("can't tell")
    expect(against.reason).toMatch(/do not agree/)
    expect(judged(spread(-6, 4), { secondOpinion: { effect: -5, low: -7, high: -3 } }).word).toBe('better')
  })

  test('what was taken off for different flying must not be able to explain the rest', () => {
    expect(judged(spread(-6, 4), { adjustment: 3 }).word).toBe('better')
    const doubtful = judged(spread(-6, 4), { adjustment: -5 })
    expect(doubtful.word).toBe("can't tell")
    expect(doubtful.reason).toMatch(/flown too differently/)
  })

  test('unevenly flown pairs must differ by twice what matters', () => {
    expect(judged(spread(-6, 4), { uneven: true }).word).toBe('better')
    expect(judged(spread(-3.5, 1), { uneven: true }).word).toBe("can't tell")
    expect(judged(spread(-3.5, 1)).word).toBe('better')
  })

  test('what is adjusted away is not called', () => {
    const draft = draftOf({
      id: 'lag',
      axis: 'roll',
      a: null,
      b: null,
      differences: spread(-6, 4, 7),
      adjustment: 0,
      uneven: false,
      secondOpinion: null,
      headline: true,
      delta: 2,
      floor: null,
      cautions: [],
      whole: null,
      refusal: null,
    })
    expect(draft.p).toBeCloseTo(2 / 2 ** 7, 12)
    expect(verdictOf(draft, 0.09).word).toBe("can't tell")
    expect(verdictOf(draft, 0.09).reason).toMatch(/several measures/)
  })

  test('no better or worse for a measure with no good way', () => {
    const ring = judged(spread(-6, 4), { id: 'ringFrequency' })
    expect(ring.word).toBe("can't tell")
    expect(ring.reason).toMatch(/neither way is better/)
  })

  test('higher is better where it is: damping', () => {
    expect(judged(spread(0.3, 0.1), { id: 'ringDamping', delta: 0.08 }).word).toBe('better')
  })

  test('a refusal is passed on', () => {
    expect(judged([], { refusal: 'The log of A holds no gyro for roll.' }).reason).toBe(
      'The log of A holds no gyro for roll.',
    )
  })
})

describe('figures of whole flights', () => {
  test('interval and word from the standard error: 5 +- 1', () => {
    const whole = judged([], { id: 'rise', delta: 3, whole: { effect: -5, error: 1 } })
    expect(whole.interval!.low).toBeCloseTo(-5 - 1.959964, 5)
    // Two-sided normal p of z = 5 (R: 2 * pnorm(-5)).
    expect(whole.p!).toBeCloseTo(5.733031e-7, 12)
    expect(whole.word).toBe('better')
    expect(judged([], { id: 'rise', delta: 3, whole: { effect: -0.5, error: 1 } }).word).toBe(
      'no clear difference',
    )
    expect(judged([], { id: 'rise', delta: 3, whole: { effect: -4, error: 3 } }).word).toBe("can't tell")
  })
})

test('pairs needed: halving the spread needs about a quarter', () => {
  const wide = judged(spread(1.2, 16, 10)).pairsNeeded!
  const narrow = judged(spread(1.2, 8, 10)).pairsNeeded!
  expect(wide / narrow).toBeGreaterThan(3)
  expect(wide / narrow).toBeLessThan(5)
})
