import { checkSetup } from './check-setup.ts'
import { demoFlights } from './demo.ts'
import { applyFaults, cutLastLine, NO_FAULTS, type FaultReport, type Faults } from './faults.ts'
import { simulateFlight } from './flight.ts'
import type { LogStyle } from './log-style.ts'
import { writeLog } from './log-text.ts'
import { withOverride } from './overrides.ts'
import { findScenario } from './scenarios.ts'
import { settingsSheet } from './settings-sheet.ts'
import { truthOf, type Truth } from './truth.ts'

export interface SimulationRequest {
  readonly scenario: string
  readonly seed: number
  readonly style: LogStyle
  readonly faults: Faults
  /** Parameter and value, as text; see overrides.ts. */
  readonly overrides: readonly (readonly [string, string])[]
}

/** One flight as files, and one line about it. */
export interface SimulatedFlight {
  readonly name: string
  readonly files: readonly { readonly name: string; readonly content: Uint8Array | string }[]
  readonly truth: Truth
}

/** The truth file: the truth, and what stands in the log beside it. */
export interface TruthFile extends Truth {
  readonly log: { readonly fileName: string; readonly faults: FaultReport | null }
}

/**
 * Flies a scenario, flight by flight: NAME.csv, NAME.settings.txt and NAME.truth.json each; the demo also has
 * NAME.trail.json with titles, notes and moments. Throws a Problem ('bad-request') for an unknown scenario or
 * parameter, or a setup that can't fly, before anything is flown.
 */
export function* simulateScenario(request: SimulationRequest): Generator<SimulatedFlight, void, undefined> {
  if (request.scenario === 'demo') yield* demoFiles(request.seed)
  else yield oneFlight(request)
}

function oneFlight(request: SimulationRequest): SimulatedFlight {
  const scenario = findScenario(request.scenario)
  let setup = scenario.setup(request.seed)
  for (const [path, text] of request.overrides) setup = withOverride(setup, path, text)
  checkSetup(setup)
  const record = simulateFlight(setup)
  const faulty = applyFaults(record, request.style, request.faults, setup.seed)
  const written = writeLog(faulty.record, {
    style: faulty.style,
    stamps_s: faulty.stamps_s,
    rows: faulty.rows,
    preamble: [
      { name: 'craft', value: setup.craft.name },
      { name: 'scenario', value: scenario.name },
      { name: 'seed', value: String(setup.seed) },
    ],
  })
  const name = `${scenario.name}-${setup.seed}`
  const truth = truthOf(scenario.name, name, setup, record)
  const report = hasFaults(request.faults) ? faulty.report : null
  return {
    name,
    truth,
    files: [
      { name: `${name}.csv`, content: request.faults.cut ? cutLastLine(written) : written },
      { name: `${name}.settings.txt`, content: settingsSheet(setup.craft, setup.tune) },
      truthFile(name, truth, report),
    ],
  }
}

function* demoFiles(seed: number): Generator<SimulatedFlight, void, undefined> {
  for (const flight of demoFlights(seed)) {
    const name = flight.truth.flight
    const { order, title, note, changeNote, moments } = flight
    const trail = { order, craft: flight.craft, title, note, changeNote, moments }
    yield {
      name,
      truth: flight.truth,
      files: [
        { name: flight.fileName, content: flight.text },
        { name: flight.settingsName, content: flight.settingsText },
        truthFile(name, flight.truth, null),
        { name: `${name}.trail.json`, content: JSON.stringify(trail, null, 2) + '\n' },
      ],
    }
  }
}

function truthFile(name: string, truth: Truth, faults: FaultReport | null) {
  const content: TruthFile = { ...truth, log: { fileName: `${name}.csv`, faults } }
  return { name: `${name}.truth.json`, content: JSON.stringify(content, null, 1) + '\n' }
}

function hasFaults(faults: Faults): boolean {
  return JSON.stringify(faults) !== JSON.stringify(NO_FAULTS)
}
