import { Problem } from '../log/problems.ts'
import { LANTERN, type Craft } from './craft.ts'
import type { Trouble, Weather } from './disturbance.ts'
import type { FlightSetup } from './flight.ts'
import type { ManoeuvreOrder } from './manoeuvre.ts'
import { excitation, hovering, testFlight, washDives } from './orders.ts'
import { LANTERN_TUNE, scaledTune, type Tune } from './tune.ts'

/** A named flight with a purpose: to try an analysis on, with its truth known. */
export interface Scenario {
  readonly name: string
  /** One line for a list. */
  readonly purpose: string
  readonly setup: (seed: number) => FlightSetup
}

export const CALM: Weather = { wind_mps: 1.5, turbulence_mps: 0.4 }
const STILL: Weather = { wind_mps: 0, turbulence_mps: 0 }
const UNDISTURBED: Trouble = { wash: 0, knocks_pmin: 0, knock_dps: 90 }
/** The wash and the odd knock of any flight. */
export const ORDINARY: Trouble = { wash: 1, knocks_pmin: 2, knock_dps: 90 }

/** More feed-forward on roll and pitch: the change that clearly helps the demo's craft. */
export const FORWARD_TUNE: Tune = scaledTune(LANTERN_TUNE, ['roll', 'pitch'], { feedForward: 2.5 })

/** A craft whose motors answer linearly, so that its linear truth holds for the whole flight. */
export const LINEAR_LANTERN: Craft = {
  ...LANTERN,
  motor: { ...LANTERN.motor, thrustLaw: 'linear', lagUp_s: 0.02, lagDown_s: 0.02 },
}
const LINEAR_TUNE: Tune = scaledTune(LANTERN_TUNE, ['yaw'], { p: 2.2, feedForward: 0 })

/** A minute of freestyle by a steady pilot in calm air: the base of all scenarios. */
export function baseSetup(seed: number, changes: Partial<FlightSetup> = {}): FlightSetup {
  return {
    craft: LANTERN,
    tune: LANTERN_TUNE,
    pilot: { skill: 0.8, roughness: 0.2 },
    orders: testFlight(),
    weather: CALM,
    trouble: ORDINARY,
    link: { rate_hz: 150, jitter: 0.1, loss: 0.002 },
    batteryUsed: 0.03,
    noise: 1,
    rate_hz: 8000,
    logRate_hz: 1000,
    seed,
    longest_s: 180,
    ...changes,
  }
}

const scenario = (
  name: string,
  purpose: string,
  changes: Partial<FlightSetup>,
  orders: ManoeuvreOrder[] = testFlight(),
): Scenario => ({ name, purpose, setup: (seed) => baseSetup(seed, { ...changes, orders }) })

export const SCENARIOS: readonly Scenario[] = [
  scenario('hover', 'forty seconds of hovering: noise, motor lines and little else', {}, hovering(40)),
  scenario('gentle', 'the base tune under gentle hands', { pilot: { skill: 0.9, roughness: 0.05 } }),
  scenario('rough', 'the same tune as gentle under rough hands', { pilot: { skill: 0.6, roughness: 0.9 } }),
  scenario('soft-loop', 'P and D halved on roll and pitch: late and mushy', {
    tune: scaledTune(LANTERN_TUNE, ['roll', 'pitch'], { p: 0.5, d: 0.5 }),
  }),
  scenario('improved', 'more feed-forward on roll and pitch: follows the sticks at once', {
    tune: FORWARD_TUNE,
  }),
  scenario('ringing', 'twice the P and no D on pitch: rings after every stop', {
    tune: scaledTune(LANTERN_TUNE, ['pitch'], { p: 2, d: 0 }),
  }),
  scenario('saturating', 'motor top at half: rolls, flips and punches run into the limit', {
    tune: { ...FORWARD_TUNE, top: 0.5 },
  }),
  scenario(
    'wash',
    'a dozen drops caught in their own wake',
    { trouble: { ...ORDINARY, knocks_pmin: 0 } },
    hovering(2, washDives(12, 0.85, 0.7)),
  ),
  scenario('gusty', 'the base tune in strong, uneven wind', {
    weather: { wind_mps: 7, turbulence_mps: 2.5 },
  }),
  scenario('knocks', 'a twitch every few seconds that no stick asked for', {
    trouble: { wash: 0, knocks_pmin: 20, knock_dps: 140 },
  }),
  scenario('clean', 'no wind, no wake, no knocks, no noise: sticks and loop alone', {
    weather: STILL,
    trouble: UNDISTURBED,
    noise: 0,
  }),
  scenario(
    'linear',
    'an idealised linear craft, sweeps and snaps in still air: the linear truth holds all through',
    { craft: LINEAR_LANTERN, tune: LINEAR_TUNE, weather: STILL, trouble: UNDISTURBED },
    excitation(),
  ),
]

/** The scenario of this name. Throws a Problem that lists the names when there is none. */
export function findScenario(name: string): Scenario {
  const found = SCENARIOS.find((candidate) => candidate.name === name)
  if (found !== undefined) return found
  const names = ['demo', ...SCENARIOS.map((one) => one.name)].join(', ')
  throw new Problem('bad-request', `There is no scenario "${name}"; there are ${names}.`)
}
