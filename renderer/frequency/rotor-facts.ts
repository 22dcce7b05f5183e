/** What the pilot says of a craft's propellers and motors, kept by the desk per craft, or per log where the craft has no name. */
import * as v from 'valibot'
import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { RotorFacts } from '../../workers/comparison/rotors.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import { rotorFactsInSheet } from '../../workers/signal/sheet-delays.ts'
import { call } from '../desk/client.ts'

export const NO_FACTS: RotorFacts = { blades: null, polePairs: null }
export const MOST_BLADES = 8
export const MOST_POLE_PAIRS = 30

const whole = (most: number) => v.nullable(v.pipe(v.number(), v.integer(), v.minValue(1), v.maxValue(most)))
const factsSchema = v.object({ blades: whole(MOST_BLADES), polePairs: whole(MOST_POLE_PAIRS) })

const keyOf = ({ craft, contentHash }: FlightDetail) =>
  craft === '' ? `rotors of log/${contentHash}` : `rotors of craft/${craft.slice(0, 1000)}`

/** What was said before; what no longer fits (an older version's) counts as nothing. */
export async function loadFacts(detail: FlightDetail): Promise<RotorFacts> {
  const { value } = await call('kept.get', { key: keyOf(detail) })
  if (value === null) return NO_FACTS
  const parsed = v.safeParse(factsSchema, JSON.parse(value))
  return parsed.success ? parsed.output : NO_FACTS
}

export async function keepFacts(detail: FlightDetail, facts: RotorFacts): Promise<void> {
  await call('kept.set', { key: keyOf(detail), value: JSON.stringify(facts) })
}

/** What was said where something was, else what the sheet says. */
export function mergedFacts(detail: FlightDetail, said: RotorFacts): RotorFacts {
  const sheet = factsInSheet(detail)
  return { blades: said.blades ?? sheet.blades, polePairs: said.polePairs ?? sheet.polePairs }
}

const factsInSheet = (detail: FlightDetail): RotorFacts => rotorFactsInSheet(sheetOfFlight(detail).settings)
