import { describe, expect, test } from 'vitest'
import { isProblem } from '../../../workers/log/problems.ts'
import { BOUNDS, boundOf } from '../../../workers/model/bounds.ts'
import { checkSetup } from '../../../workers/model/check-setup.ts'
import { withOverride } from '../../../workers/model/overrides.ts'
import { baseSetup, findScenario, SCENARIOS } from '../../../workers/model/scenarios.ts'

/** The sentence that a changed setup is refused with. */
function refusal(...changes: [string, string][]): string {
  try {
    let setup = baseSetup(1)
    for (const [path, text] of changes) setup = withOverride(setup, path, text)
    checkSetup(setup)
  } catch (error) {
    if (!isProblem(error)) throw error
    expect(error.code).toBe('bad-request')
    return error.message
  }
  return 'accepted'
}

test('every scenario can be flown', () => {
  for (const scenario of SCENARIOS) expect(() => checkSetup(scenario.setup(1))).not.toThrow()
})

describe("a request that can't be carried out gets one sentence with the parameter and its bounds", () => {
  test.each([
    ['craft.mass_kg', '-1', 'craft.mass_kg is -1; it must be between 0.02 and 20 kg.'],
    ['link.rate_hz', '20', 'link.rate_hz is 20; it must be between 50 and 500 Hz.'],
    ['logRate_hz', '9000', 'logRate_hz is 9000; it must be between 100 and 8000 Hz.'],
    ['pilot.roughness', '1.5', 'pilot.roughness is 1.5; it must be between 0 and 1.'],
    [
      'craft.propeller.blades',
      '2.5',
      'craft.propeller.blades is 2.5; it must be a whole number between 2 and 8 blades.',
    ],
    ['noise', 'loud', 'noise is "loud"; it must be a number between 0 and 20.'],
    ['noise', '', 'noise is ""; it must be a number between 0 and 20.'],
    [
      'tune.controlRate_hz',
      '3000',
      'tune.controlRate_hz is 3000; it must divide rate_hz, 8000 Hz, without a rest.',
    ],
    [
      'tune.dLowPass_hz',
      '1900',
      'tune.dLowPass_hz is 1900; it must be below 0.45 of the control rate, 1800 Hz.',
    ],
    ['tune.top', '0.2', 'accepted'],
    ['craft.motor.thrustLaw', 'cubic', 'craft.motor.thrustLaw is "cubic"; it must be linear or propeller.'],
  ])('%s = %s', (path, text, sentence) => {
    if (sentence === 'accepted') expect(refusal([path, text])).toContain('craft.mass_kg is 0.7; these motors')
    else expect(refusal([path, text])).toBe(sentence)
  })

  test('an unstable tune, with the largest gain that would settle', () => {
    expect(refusal(['tune.axes.roll.p', '50'])).toMatch(
      /^tune\.axes\.roll\.p is 50 and the loop is unstable; with the other settings it must be between 0 and \d+(\.\d+)?\.$/,
    )
    expect(refusal(['tune.axes.yaw.i', '4000'])).toMatch(
      /^tune\.axes\.yaw\.i is 4000 and the loop is unstable/,
    )
    expect(refusal(['tune.axes.pitch.d', '2'])).toMatch(/^tune\.axes\.pitch\.d is 2 and the loop is unstable/)
  })

  test('the named limit is true: just below it the tune is accepted', () => {
    const limit = Number(/and ([\d.]+)\.$/.exec(refusal(['tune.axes.roll.p', '50']))![1])
    expect(refusal(['tune.axes.roll.p', String(limit * 0.98)])).toBe('accepted')
    expect(refusal(['tune.axes.roll.p', String(limit * 1.03)])).toContain('unstable')
  })

  test('an impossible airframe: too heavy to fly, or no rigid body', () => {
    const sentence = refusal(['craft.mass_kg', '5'])
    expect(sentence).toMatch(
      /^craft\.mass_kg is 5; these motors and propellers carry between 0\.02 and [\d.]+ kg/,
    )
    const heaviest = Number(/and ([\d.]+) kg/.exec(sentence)![1])
    expect(refusal(['craft.mass_kg', String(heaviest * 0.99)])).toBe('accepted')
    expect(refusal(['craft.inertia_kgm2.yaw', '0.5'])).toContain('no rigid body')
    expect(refusal(['craft.battery.empty_V', '4.5'])).toContain('must be below craft.battery.full_V')
  })

  test('an unknown scenario, with the names that there are', () => {
    expect(() => findScenario('loop the loop')).toThrow(
      /no scenario "loop the loop"; there are demo, hover, gentle/,
    )
  })

  test('a parameter that is not one', () => {
    for (const path of ['tune.axes.roll.q', 'craft.__proto__.x', '__proto__', 'orders', 'orders.0.kind', ''])
      expect(refusal([path, '1'])).toContain(`There is no parameter "${path}"`)
    expect(refusal(['tune.axes', '1'])).toContain('tune.axes is a group of parameters')
  })
})

test('filters can be left out, and changes leave the original alone', () => {
  const setup = baseSetup(1)
  const changed = withOverride(withOverride(setup, 'tune.gyroLowPass', 'off'), 'tune.axes.roll.p', '1.5')
  expect(changed.tune.gyroLowPass).toBeNull()
  expect(changed.tune.axes.roll.p).toBe(1.5)
  expect(setup.tune.gyroLowPass).not.toBeNull()
  expect(() => checkSetup(changed)).not.toThrow()
})

test('every number of a setup has a bound, and every bound a number', () => {
  const paths: string[] = []
  const walk = (value: unknown, path: string) => {
    if (typeof value === 'number') paths.push(path)
    else if (typeof value === 'object' && value !== null)
      for (const [name, part] of Object.entries(value)) walk(part, path === '' ? name : `${path}.${name}`)
  }
  walk({ ...baseSetup(1), orders: null }, '')
  expect(paths.filter((path) => boundOf(path) === undefined)).toEqual([])
  const used = new Set(paths.map((path) => boundOf(path)))
  expect(BOUNDS.filter((bound) => !used.has(bound)).map((bound) => bound.path)).toEqual([])
})
