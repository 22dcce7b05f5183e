import { describe, expect, test } from 'vitest'
import { figureOf } from '../../../workers/changes/flight-figures.ts'
import { courseCautions, steppedSettings, whyNoCourse } from '../../../workers/changes/setting-steps.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'

const flights = (...texts: string[]) =>
  texts.map((text, index) => ({ flightId: index + 1, settings: parseSheet(text).settings }))

describe('settings that were stepped', () => {
  test('are those with more than one number, most values first, whatever the spelling', () => {
    const found = steppedSettings(
      flights(
        'roll D = 20\nx = 1\ndate = 1',
        'roll_d = 25\nx = 1\ndate = 2',
        'Roll D = 30\nx = 2\ndate = 3',
        'x = 1\nmode = soft',
      ),
    )
    expect(found).toMatchObject([
      {
        key: 'roll d',
        name: 'Roll D',
        values: [20, 25, 30],
        steps: [{ flightId: 1, value: 20 }, { flightId: 2 }, { flightId: 3 }],
      },
      { name: 'x', values: [1, 2], steps: [{}, {}, {}, {}] },
    ])
  })

  test('fewer than three values are refused with the reason', () => {
    const [stepped] = steppedSettings(flights('x = 1', 'x = 2', 'x = 1'))
    expect(whyNoCourse(stepped!)).toBe(
      'x was flown with 2 values in 3 flights: it takes at least 3 to see a course. Two values are a comparison: choose their flights as A and B.',
    )
    expect(whyNoCourse(steppedSettings(flights('x = 1', 'x = 2', 'x = 3'))[0]!)).toBeNull()
  })

  const facts = (flightId: number, peak_dps = 400, voltage_V: number | null = 16) => ({
    flightId,
    peak_dps,
    voltage_V,
  })

  test('says what else may have made the course', () => {
    const all = flights(
      'roll D = 1\npitch D = 1\ny = 1',
      'roll D = 2\npitch D = 2\ny = 1',
      'roll D = 3\npitch D = 3\ny = 2',
    )
    const stepped = steppedSettings(all).find(({ key }) => key === 'roll d')!
    const said = courseCautions(stepped, all, [facts(1), facts(2, 600), facts(3, 400, 14)]).join(' ')
    expect(said).toMatch(/only ever went up from flight to flight/)
    expect(said).toMatch(/Each value was flown once/)
    expect(said).toMatch(/Other settings were not the same in all these flights \(y\)/)
    expect(said).toMatch(/flown harder than others/)
    expect(said).toMatch(/batteries did not stand alike/)
  })

  test('and nothing where there is nothing', () => {
    const all = flights('x = 1', 'x = 3', 'x = 2', 'x = 1')
    expect(courseCautions(steppedSettings(all)[0]!, all, [facts(1), facts(2), facts(3), facts(4)])).toEqual(
      [],
    )
    expect(
      courseCautions(steppedSettings(all)[0]!, all, [facts(1), facts(2), facts(3), facts(4, 400, null)]),
    ).toEqual(['Not every log holds the battery’s voltage: it may have differed.'])
  })
})

describe('a figure of one flight', () => {
  test('is the pseudo-median with its interval (R 4 wilcox.test, conf.int, exact; Hollander & Wolfe depression data [from memory])', () => {
    // Differences of Hollander and Wolfe's table 3.1: pseudo-median -0.46, 95 % interval [-0.786, -0.010].
    const differences = [
      0.878 - 1.83,
      0.647 - 0.5,
      0.598 - 1.62,
      2.05 - 2.48,
      1.06 - 1.68,
      1.29 - 1.88,
      1.06 - 1.55,
      3.14 - 3.06,
      1.29 - 1.3,
    ]
    const { value, interval, count } = figureOf(differences)
    expect(value).toBeCloseTo(-0.46, 6)
    expect(interval?.low).toBeCloseTo(-0.786, 3)
    expect(interval?.high).toBeCloseTo(-0.01, 3)
    expect(count).toBe(9)
  })

  test('shifts with its values, and has no interval below six', () => {
    const some = [3, 1, 4, 1, 5, 9, 2, 6]
    const own = figureOf(some)
    const moved = figureOf(some.map((value) => value + 10))
    expect(moved.value).toBeCloseTo(own.value + 10, 9)
    expect(moved.interval!.low).toBeCloseTo(own.interval!.low + 10, 9)
    expect(figureOf(some.slice(0, 5)).interval).toBeNull()
  })
})
