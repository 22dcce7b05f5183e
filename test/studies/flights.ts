import type { FlightSignals } from '../../workers/flight/signals.ts'
import { simulateFlight, type FlightRecord, type FlightSetup } from '../../workers/model/flight.ts'
import type { ManoeuvreOrder } from '../../workers/model/manoeuvre.ts'
import { snaps, turns } from '../../workers/model/orders.ts'
import { baseSetup } from '../../workers/model/scenarios.ts'
import { LANTERN_TUNE, scaledTune } from '../../workers/model/tune.ts'
import { signalsOf } from '../unit/manoeuvre/flown.ts'

/** Stops enough for a dozen like pairs an axis. */
export function manyStops(): ManoeuvreOrder[] {
  return [
    { kind: 'take-off' },
    { kind: 'hover', duration_s: 3 },
    ...snaps('roll', 10, 0.5),
    ...turns('roll', 10, 0.88),
    ...snaps('pitch', 10, 0.5),
    ...turns('pitch', 10, 0.88),
    { kind: 'hover', duration_s: 1 },
    { kind: 'landing' },
  ]
}

/** P and D halved on roll and pitch. */
export const SOFT = scaledTune(LANTERN_TUNE, ['roll', 'pitch'], { p: 0.5, d: 0.5 })
/** The soft loop with P and D up by 40 %. */
export const FIRMER = scaledTune(SOFT, ['roll', 'pitch'], { p: 1.4, d: 1.4 })
export const STEADY = { skill: 0.8, roughness: 0.3 }
/** The same pilot 30 % rougher. */
export const ROUGHER = { skill: 0.8, roughness: 0.39 }
/** Much rougher than "30 %": by nearly a third of the whole scale. */
export const MUCH_ROUGHER = { skill: 0.8, roughness: 0.6 }

export function flown(
  seed: number,
  changes: Partial<FlightSetup> = {},
): { record: FlightRecord; signals: FlightSignals } {
  const record = simulateFlight(
    baseSetup(seed, { orders: manyStops(), logRate_hz: 500, pilot: STEADY, ...changes }),
  )
  return { record, signals: signalsOf(record) }
}
