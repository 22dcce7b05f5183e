import { expect, test } from 'vitest'
import { propellerFacts } from '../../../workers/verdict/propeller-facts.ts'

const QUESTION = { from_in: 5, to_in: 6, speed_rpm: 24_000, blades: 3, polePairs: 7 }

test('5 to 6 inch: area 1.44, n^2 D^4 2.0736, n^2 D^5 2.48832, same thrust at .6944 (computed; McCormick [from memory])', () => {
  const facts = propellerFacts(QUESTION)
  expect(facts.discArea).toBeCloseTo(1.44, 10)
  expect(facts.thrustAtSameSpeed).toBeCloseTo(2.0736, 10)
  expect(facts.torqueAtSameSpeed).toBeCloseTo(2.48832, 10)
  expect(facts.speedForSameThrust).toBeCloseTo(0.6944, 4)
  // At that speed the thrust is the old one: n^2 D^4.
  expect(facts.speedForSameThrust ** 2 * facts.thrustAtSameSpeed).toBeCloseTo(1, 12)
})

test('24,000 rpm: 400 Hz; three blades 1200 Hz; 7 pole pairs 168,000 electrical rpm', () => {
  const facts = propellerFacts(QUESTION)
  expect([facts.rotation_hz, facts.bladePass_hz, facts.electrical_rpm]).toEqual([400, 1200, 168_000])
  expect(() => propellerFacts({ ...QUESTION, blades: 0 })).toThrow('blades must be positive: 0')
})
