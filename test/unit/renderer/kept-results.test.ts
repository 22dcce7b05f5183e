/** Results as text and back, values in bounded memory, and what the desk is asked to keep. */
import fc from 'fast-check'
import * as v from 'valibot'
import { describe, expect, test, vi } from 'vitest'
import { demandOf } from '../../../workers/comparison/demand.ts'
import { flightEvents } from '../../../workers/comparison/flight-events.ts'
import { frequencyOf } from '../../../workers/comparison/frequency.ts'
import { signalFrequencyOf } from '../../../workers/comparison/signal-frequency.ts'
import { compareFlights } from '../../../workers/verdict/compare-flights.ts'
import { syntheticFlight } from '../comparison/synthetic-flight.ts'
import { Recent } from '../../../renderer/work/recent.ts'
import { keptVerdictSchema } from '../../../renderer/verdict/kept-verdict.ts'
import { roughBytes } from '../../../renderer/work/kept-result.ts'
import { resultFromText, resultText } from '../../../renderer/work/result-text.ts'

// Node has no web workers; nothing here asks one.
vi.mock('../../../renderer/work/workers.ts', () => ({}))

describe('results as text', () => {
  const leaf = fc.oneof(
    fc.double(),
    fc.string(),
    fc.boolean(),
    fc.constant(null),
    fc.float64Array(),
    fc.float32Array(),
    fc.uint8Array(),
    fc.int32Array(),
  )
  const value = fc.letrec((tie) => ({
    node: fc.oneof(
      { depthSize: 'small' },
      leaf,
      fc.array(tie('node'), { maxLength: 4 }),
      fc.dictionary(
        fc.string().filter((name) => name !== '\u0000' && name !== '__proto__'),
        tie('node'),
        {
          maxKeys: 4,
          noNullPrototype: true,
        },
      ),
    ),
  })).node

  test('come back to the last bit: NaN, infinities, minus zero and typed arrays', () => {
    fc.assert(
      fc.property(value, (one) => {
        expect(resultFromText(resultText(one))).toEqual(one)
      }),
    )
    const exact = { a: Float64Array.of(NaN, -0, 1 / 3, Infinity), b: [-0, NaN, -Infinity] }
    expect(resultFromText(resultText(exact))).toEqual(exact)
    const part = Float64Array.of(1, 2, 3, 4).subarray(1, 3)
    expect(resultFromText(resultText(part))).toEqual(Float64Array.of(2, 3))
  })

  test('what can not be kept is a fault of ours; damaged text is refused', () => {
    expect(() => resultText({ a: new Map() })).toThrow("can't be kept")
    expect(() => resultFromText('{')).toThrow(SyntaxError)
    expect(() => resultFromText(JSON.stringify({ '\u0000': 'f64', of: btoa('abc') }))).toThrow('damaged')
    expect(() => resultFromText(JSON.stringify({ '\u0000': 'constructor', of: '' }))).toThrow('damaged')
    expect(() => resultFromText(JSON.stringify({ '\u0000': 'f64' }))).toThrow('damaged')
  })
})

test('a verdict and everything of the frequency screen can be kept, and pass their own check', () => {
  const a = syntheticFlight({ rate_hz: 200, duration_s: 20 })
  const b = syntheticFlight({ rate_hz: 200, duration_s: 20, delay_s: 0.04, seed: 3 })
  const verdict = compareFlights(a, b)
  const again = resultFromText(resultText(verdict))
  expect(again).toEqual(verdict)
  expect(v.safeParse(keptVerdictSchema, again).success).toBe(true)
  expect(v.safeParse(keptVerdictSchema, { ...verdict, measures: [{ key: 1 }] }).success).toBe(false)
  for (const one of [
    frequencyOf(a, b, 0, 0, 20, 'roll'),
    signalFrequencyOf(a, b, 0, 0, 20, 'roll', 'error'),
    demandOf(a, 0, 20, 'roll'),
    flightEvents(a, 0, 20),
  ])
    expect(resultFromText(resultText(one))).toEqual(one)
})

describe('recent values', () => {
  test('are counted by the memory of their arrays', () => {
    expect(roughBytes({ x: new Float64Array(1000), y: [new Float32Array(500), null] })).toBe(
      8000 + 2000 + 8 + 2 * 16,
    )
  })

  test('the longest unused go first when there is no room', () => {
    const recent = new Recent<string>(10)
    recent.keep('a', 'A', 4)
    recent.keep('b', 'B', 4)
    expect(recent.get('a')).toBe('A')
    recent.keep('c', 'C', 4)
    expect(['a', 'b', 'c'].map((key) => recent.get(key))).toEqual(['A', undefined, 'C'])
    recent.keep('a', 'again', 1)
    recent.keep('d', 'D', 5)
    expect(['a', 'c', 'd'].map((key) => recent.get(key))).toEqual(['again', 'C', 'D'])
  })

  test('what is larger than the room is not kept, and pushes nothing out', () => {
    const recent = new Recent<string>(10)
    recent.keep('a', 'A', 4)
    recent.keep('b', 'B', 11)
    expect(recent.get('b')).toBeUndefined()
    expect(recent.get('a')).toBe('A')
  })
})
