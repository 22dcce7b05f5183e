import { describe, expect, test } from 'vitest'
import {
  MOST_VIEWS,
  nameOfPair,
  parseKeptViews,
  within,
  withView,
  writeKeptViews,
  type KeptView,
} from '../../../renderer/compare/kept-view.ts'

const view = (pair: string, part: Partial<KeptView> = {}): KeptView => ({
  pair,
  span: { t0_s: 1, t1_s: 2 },
  byHand_s: null,
  cursor_s: 1.5,
  marks_s: [null, 1.25],
  arrangement: 'beside',
  range_db: { min_db: -40, max_db: 20 },
  chosen: { side: 'b', id: 'roll stop@12.3' },
  ...part,
})

describe('kept views', () => {
  test('come back as they were written', () => {
    const views = [view('x y'), view('y x', { byHand_s: -0.25, chosen: null, range_db: null })]
    expect(parseKeptViews(writeKeptViews(views))).toEqual(views)
  })

  test('are bounded; the one looked at longest ago goes first', () => {
    let views: readonly KeptView[] = []
    for (let pair = 0; pair < MOST_VIEWS + 5; pair++) views = withView(views, view(String(pair)))
    views = withView(views, view('10', { cursor_s: 9 }))
    expect(views).toHaveLength(MOST_VIEWS)
    expect(views[0]).toMatchObject({ pair: '10', cursor_s: 9 })
    expect(views.some(({ pair }) => pair === '4')).toBe(false)
    expect(views.filter(({ pair }) => pair === '10')).toHaveLength(1)
  })

  test.each([
    ['not JSON', '{'],
    ['another shape', '[1, 2]'],
    ['a later format', JSON.stringify({ format: 2, views: [view('x')] })],
    ['nothing', ''],
  ])('that are damaged are as none: %s', (_, text) => {
    expect(parseKeptViews(text)).toEqual([])
  })

  test.each([
    { span: { t0_s: 2, t1_s: 1 } },
    { span: { t0_s: null, t1_s: 1 } },
    { arrangement: 'stacked' },
    { marks_s: [1] },
    { range_db: { min_db: 5, max_db: 5 } },
    { pair: 'x'.repeat(301) },
  ])('one that does not fit is left out, the others stay: %o', (part) => {
    const text = JSON.stringify({ format: 1, views: [{ ...view('bad'), ...part }, view('good')] })
    expect(parseKeptViews(text).map(({ pair }) => pair)).toEqual(['good'])
  })
})

test('a pair is known by content, part and order', () => {
  const a = { contentHash: 'aa', span: null }
  const b = { contentHash: 'bb', span: { t0_s: 1, t1_s: 20.5 } }
  expect(nameOfPair(a, b)).not.toBe(nameOfPair(b, a))
  expect(nameOfPair(a, b)).not.toBe(nameOfPair(a, { ...b, span: { t0_s: 1, t1_s: 21 } }))
  expect(nameOfPair(a, b)).toBe(nameOfPair({ ...a }, { ...b }))
})

test('a kept span is brought into what there is', () => {
  const whole = { t0_s: 0, t1_s: 60 }
  expect(within({ t0_s: 5, t1_s: 9 }, whole)).toEqual({ t0_s: 5, t1_s: 9 })
  expect(within({ t0_s: 50, t1_s: 90 }, whole)).toEqual({ t0_s: 50, t1_s: 60 })
  expect(within({ t0_s: 70, t1_s: 90 }, whole)).toEqual(whole)
})
