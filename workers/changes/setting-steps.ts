import { axisOfName, isRecordName, keyOfName } from '../settings/names.ts'
import type { Setting } from '../settings/sheet.ts'
import { readValue } from '../settings/values.ts'

/** A flight with the settings in force during it. Flights come in the order flown. */
export interface FlightWithSettings {
  readonly flightId: number
  readonly settings: readonly Setting[]
}

/** A setting with a number that was not the same in all flights. */
export interface SteppedSetting {
  /** Its name's words: what it is found by. */
  readonly key: string
  /** As the last sheet writes it. */
  readonly name: string
  /** The unit that its values are written with; '' when with none, or not all with the same. */
  readonly unit: string
  /** Different values, rising. */
  readonly values: readonly number[]
  /** Its value in each flight whose sheet has it, in the order flown. */
  readonly steps: readonly { readonly flightId: number; readonly value: number }[]
}

/** Fewer values show no course. */
export const FEWEST_VALUES = 3

/** Settings that were changed between these flights, those with the most values first. */
export function steppedSettings(flights: readonly FlightWithSettings[]): SteppedSetting[] {
  const found = new Map<
    string,
    { name: string; units: Set<string>; steps: { flightId: number; value: number }[] }
  >()
  for (const { flightId, settings } of flights)
    for (const { name, value } of settings) {
      const read = readValue(value)
      const key = keyOfName(name)
      if (read.kind !== 'number' || key === '' || isRecordName(name)) continue
      const one = found.get(key) ?? { name, units: new Set(), steps: [] }
      found.set(key, one)
      one.name = name
      one.units.add(read.unit)
      // A name that stands twice in other spellings holds its last value.
      if (one.steps.at(-1)?.flightId === flightId) one.steps.pop()
      one.steps.push({ flightId, value: read.number })
    }
  return [...found]
    .map(([key, { name, units, steps }]): SteppedSetting => ({
      key,
      name,
      unit: units.size === 1 ? ([...units][0] as string) : '',
      values: [...new Set(steps.map(({ value }) => value))].sort((a, b) => a - b),
      steps,
    }))
    .filter(({ values }) => values.length > 1)
    .sort((x, y) => y.values.length - x.values.length || y.steps.length - x.steps.length)
}

/** Why a setting's course can't be shown, in a sentence; null when it can. */
export function whyNoCourse({ name, values, steps }: SteppedSetting): string | null {
  if (values.length >= FEWEST_VALUES) return null
  return `${name} was flown with ${values.length} values in ${steps.length} flights: it takes at least ${FEWEST_VALUES} to see a course. Two values are a comparison: choose their flights as A and B.`
}

/** What else is known of the flights that a course is made of. */
export interface FlightFacts {
  readonly flightId: number
  readonly peak_dps: number | null
  readonly voltage_V: number | null
}

/** Flown this much harder, or on this much more voltage, flights are told apart. Our own limits, no source. */
const HARDER = 1.25
const VOLTAGE_SHARE = 0.05

/** What may have made the course besides the setting, in plain sentences. */
export function courseCautions(
  stepped: SteppedSetting,
  flights: readonly FlightWithSettings[],
  facts: readonly FlightFacts[],
): string[] {
  const { steps, values, name } = stepped
  const cautions: string[] = []
  const inTime = steps.map(({ value }) => value)
  if (isMonotonic(inTime))
    cautions.push(
      `${name} only ever went ${inTime[0]! < inTime.at(-1)! ? 'up' : 'down'} from flight to flight: whatever else changed with time (wear, weather, practice) changed with it. Fly an earlier value again.`,
    )
  if (steps.length === values.length)
    cautions.push(
      'Each value was flown once: nothing shows what the same settings differ by from flight to flight.',
    )
  const others = otherChanges(stepped, flights)
  if (others.length > 0)
    cautions.push(
      `Other settings were not the same in all these flights (${others.slice(0, 4).join(', ')}${others.length > 4 ? ` and ${others.length - 4} more` : ''}): the course may be theirs.`,
    )
  const own = facts.filter(({ flightId }) => steps.some((step) => step.flightId === flightId))
  const peaks = own.flatMap(({ peak_dps }) => peak_dps ?? [])
  if (peaks.length > 1 && Math.max(...peaks) > HARDER * Math.min(...peaks))
    cautions.push(
      'Some of these flights were flown harder than others, and nothing is paired here: see the verdict for like with like.',
    )
  const volts = own.flatMap(({ voltage_V }) => voltage_V ?? [])
  if (volts.length > 1 && Math.max(...volts) > (1 + VOLTAGE_SHARE) * Math.min(...volts))
    cautions.push('The batteries did not stand alike: mean voltages differ by more than 5 %.')
  else if (volts.length < own.length)
    cautions.push('Not every log holds the battery’s voltage: it may have differed.')
  return cautions
}

function isMonotonic(values: readonly number[]): boolean {
  const pairs = values.slice(1).map((value, at) => Math.sign(value - values[at]!))
  return !(pairs.includes(1) && pairs.includes(-1))
}

/** Names of settings that differ among the flights; the same setting of another axis counts as part of it. */
function otherChanges(stepped: SteppedSetting, flights: readonly FlightWithSettings[]): string[] {
  const used = flights.filter(({ flightId }) => stepped.steps.some((step) => step.flightId === flightId))
  const family = axisOfName(stepped.name)?.family
  const seen = new Map<string, { name: string; values: Set<string> }>()
  for (const { settings } of used)
    for (const { name, value } of settings) {
      if (isRecordName(name)) continue
      const key = keyOfName(name)
      const own = axisOfName(name)?.family
      if (key === stepped.key || (family !== undefined && own === family)) continue
      const one = seen.get(key) ?? { name, values: new Set() }
      seen.set(key, one)
      const read = readValue(value)
      one.values.add(read.kind === 'number' ? `${read.number} ${read.unit}` : value)
    }
  return [...seen.values()].filter(({ values }) => values.size > 1).map(({ name }) => name)
}
