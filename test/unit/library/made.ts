import type { FlightFacts } from '../../../electron/library/library.ts'
import type { Assignment } from '../../../workers/columns/roles.ts'
import type { ReadLog } from '../../../workers/log/log.ts'

export const FACTS: FlightFacts = {
  name: 'First',
  craft: 'Lantern',
  note: '',
  flownAt_ms: null,
  demo: false,
  sourcePath: null,
  settings: null,
}

export const assign = (role: Assignment['role'], column: number): Assignment => ({
  role,
  column,
  name: `column ${column}`,
  unit: role === 'time' ? 's' : 'dps',
  sign: 1,
  sure: 'likely',
  setBy: 'program',
  how: 'By its name.',
})

/** A small read log, as intake would give it. */
export function readLog(contentHash: string): ReadLog {
  return {
    fileName: 'first.csv',
    bytes: 100,
    dialect: { separator: ',', decimal: '.', headerLine: 1, firstDataLine: 2, compression: 'none' },
    preamble: [],
    headerKey: 'key',
    columns: [
      { index: 0, name: 'column 0', type: 'f64', examples: ['0'], min: 0, max: 1 },
      { index: 1, name: 'column 1', type: 'f32', examples: ['5'], min: -5, max: 5 },
    ],
    assignments: [assign('time', 0), assign('gyro.roll', 1)],
    notices: [{ level: 'missing', text: 'No setpoint.', cost: 'No tracking error.' }],
    rows: 11,
    contentHash,
    clock: {
      rows: 11,
      duration_s: 1,
      effectiveRate_hz: 10,
      nominalRate_hz: 10,
      wraps: 0,
      duplicates: 0,
      backward: 0,
      gaps: 0,
      longestGap_s: 0,
      missingFrames: 0,
    },
    layout: {
      format: 1,
      rows: 11,
      groupRows: 65536,
      columns: [
        { index: 0, type: 'f64' },
        { index: 1, type: 'f32' },
      ],
    },
    restarts: [],
  }
}
