import { expect, test } from 'vitest'
import { fourSystems, plainFour, SUM, SUMS, type Four } from '../../../workers/response/four-systems.ts'
import { simulateSecondOrder, type SecondOrder } from '../../../workers/response/second-order.ts'
import { normalInput } from '../signal/series.ts'

const system = (natural_radps: number, damping: number, delay_s: number, gain = 1): SecondOrder => ({
  ...{ natural_radps, damping, delay_s, gain },
})

const LENGTH = 3000
const noise = normalInput(3, LENGTH)
const input = Float64Array.from(noise, (value, n) => 100 * Math.sin(n / 30) + 20 * value)
const measured = Float64Array.from(noise, (value, n) => 90 * Math.sin((n - 4) / 30) + 15 * value + 12)
// A stretch that starts inside of the series, one that starts with a step, and one that is all settling.
const stretches = [
  { start: 10, end: 1000 },
  { start: 1000, end: 2500 },
  { start: 2600, end: 2640 },
]
const question = { input, measured, mean: 12, rate_hz: 250, stretches, settling: 40, groups: 7 }

const alike: Four = [
  system(60, 0.7, 0.005),
  system(61, 0.7, 0.005),
  system(60, 0.8, 0.005),
  system(60, 0.7, 0.005),
]
const unlike: Four = [
  ...([system(60, 0.7, 0.0119), system(20, 2, 0.0125), system(200, 0.2, 0.0125)] as const),
  system(35, 1, 0.0119, 0.7),
]
// Longer than the settling: the input of before the first sample counts for what is summed up.
const late: Four = [system(60, 0.7, 0.3), system(20, 2, 0.301), system(200, 0.2, 0.3), system(35, 1, 0.303)]

test.each([
  ['neighbours', alike],
  ['unlike systems', unlike],
  ['long delays', late],
] as const)('the sums are those of the simulated answers: %s', (_, four) => {
  const answers = four.map((one) => {
    const answer = new Float64Array(LENGTH)
    for (const { start, end } of stretches) simulateSecondOrder(one, input, 250, answer, start, end)
    return answer
  })
  const counted = stretches.flatMap(({ start, end }) =>
    Array.from({ length: Math.max(0, end - start - 40) }, (_, k) => start + 40 + k),
  )
  const sums = fourSystems(question)(four)
  for (let group = 0; group < 7; group++) {
    const own = counted.slice(
      Math.round((group * counted.length) / 7),
      Math.round(((group + 1) * counted.length) / 7),
    )
    const x = own.map((n) => answers[3]![n]!)
    const y = own.map((n) => measured[n]! - 12)
    const d = [0, 1, 2].map((k) => own.map((n) => answers[k]![n]! - answers[3]![n]!))
    const ones = own.map(() => 1)
    const columns: Record<string, number[]> = { d0: d[0]!, d1: d[1]!, d2: d[2]!, x, y, '': ones }
    for (const [name, at] of Object.entries(SUM)) {
      const [, one, other] = /^(d\d|x)(d\d|x|y|)$/.exec(name)!
      const [a, b] = [columns[one!]!, columns[other!]!]
      const terms = a.map((value, k) => value * b[k]!)
      const sum = terms.reduce((all, term) => all + term, 0)
      const size = terms.reduce((all, term) => all + Math.abs(term), 0)
      expect(Math.abs(sums[group * SUMS + at]! - sum), name).toBeLessThan(1e-10 * size + 1e-12)
    }
  }
})

test.each([alike, unlike, late])('the kernel and the plain code agree, %#', (...four) => {
  const plain = plainFour(question)(four)
  fourSystems(question)(four).forEach((value, k) =>
    expect(Math.abs(value - plain[k]!)).toBeLessThan(1e-9 * Math.abs(plain[k]!) + 1e-6),
  )
})

test('delays more than a sample apart are refused', () => {
  expect(() => fourSystems(question)([...alike.slice(1), system(60, 0.7, 0.05)] as unknown as Four)).toThrow(
    'delays',
  )
})
