import { beforeAll, describe, expect, test } from 'vitest'
import { demoFlights } from '../../../workers/model/demo.ts'
import { simulateFlight } from '../../../workers/model/flight.ts'
import { compareFlights } from '../../../workers/verdict/compare-flights.ts'
import type { Comparison } from '../../../workers/verdict/comparison.ts'
import { signalsOf } from '../manoeuvre/flown.ts'

let changes: Comparison[] = []
beforeAll(() => {
  const flights = [...demoFlights()].map(({ truth }) => signalsOf(simulateFlight(truth.setup)))
  changes = flights.slice(1).map((flight, k) => compareFlights(flights[k]!, flight))
}, 240_000)

const word = (comparison: Comparison, key: string) =>
  comparison.measures.find((measure) => measure.key === key)!.word

/** What the truth of the demo says each change does: see test/unit/model/demo.test.ts. */
describe("the demo trail's four changes get the words that their truth deserves", () => {
  test('a change that does nothing, flown harder in more wind: nothing is called better or worse', () => {
    const headline = changes[0]!.measures.filter((measure) => measure.headline)
    expect(headline.filter((one) => one.word === 'better' || one.word === 'worse')).toEqual([])
    expect(changes[0]!.verdict.word).toBe("can't tell")
    expect(changes[0]!.verdict.sentence).toMatch(/^No clear difference on roll .*The rest can’t be told/)
    expect(changes[0]!.cautions.join(' ')).toMatch(/not flown quite alike/)
  })

  test('feed-forward: follows sooner and closer on roll and pitch', () => {
    for (const axis of ['roll', 'pitch']) {
      expect(word(changes[1]!, `lag.${axis}`)).toBe('better')
      expect(word(changes[1]!, `trackingError.${axis}`)).toBe('better')
    }
    expect(changes[1]!.verdict.word).toMatch(/^better/)
  })

  test('the battery across the frame: better on pitch, worse on roll', () => {
    for (const measure of ['lag', 'trackingError']) {
      expect(word(changes[2]!, `${measure}.pitch`)).toBe('better')
      expect(word(changes[2]!, `${measure}.roll`)).toBe('worse')
    }
    expect(changes[2]!.verdict.word).toBe('better and worse')
  })

  test('motors at half: worse, and the limit is named, not the tuning', () => {
    expect(word(changes[3]!, 'motorTop.craft')).toBe('worse')
    expect(changes[3]!.verdict.word).toBe('worse')
    expect(word(changes[3]!, 'lag.roll')).toBe("can't tell")
    expect(
      changes[3]!.reading.some(({ sentence }) => sentence.startsWith('Motors stood at their highest')),
    ).toBe(true)
    expect(changes[3]!.exclusions.some(({ what }) => what.startsWith('Motors at their limit'))).toBe(true)
  })
})
