import { wholeLog } from '../electron/library/judgement.ts'
import { Library } from '../electron/library/library.ts'
import type { Assignment, Role } from '../workers/columns/roles.ts'
import { STRIP_STEPS, type ActivityStrip } from '../workers/flight/activity-strip.ts'
import type { ReadLog } from '../workers/log/log.ts'

const COLUMNS = [
  'time (s)',
  'gyro roll (deg/s)',
  'gyro pitch (deg/s)',
  'gyro yaw (deg/s)',
  'throttle (%)',
].concat(Array.from({ length: 25 }, (_, index) => `more ${index}`))

/**
 * Fills a new logbook with flights of invented logs, eight a day, whose records have an ordinary size (30 columns, settings
 * sheets of 2.5 kB). Their samples are not there: for tests and measurements of the list alone.
 * @param hashOf the content hash of a log by its number
 */
export function fillLogbook(
  home: string,
  flights: number,
  hashOf = (index: number): string => `bench-${index}`,
): void {
  const library = new Library(home)
  library.together(() => {
    for (let index = 0; index < flights; index++) {
      const flownAt_ms =
        Date.parse('2020-01-01T08:00Z') + Math.floor(index / 8) * 86_400_000 + (index % 8) * 900_000
      const log = { ...logOf(index), contentHash: hashOf(index) }
      library.add(
        log,
        {
          name: `pack ${index}`,
          craft: index % 2 ? 'Lantern' : `craft ${index % 9}`,
          note: `flight number ${index} over the field, ${index % 3 ? 'calm' : 'gusty'}`,
          flownAt_ms,
          demo: false,
          sourcePath: null,
          settings: {
            name: 'settings.txt',
            text: Array.from({ length: 150 }, (_, line) => `gain${line} = ${(index * line) % 97}`).join('\n'),
          },
        },
        flownAt_ms,
        { ...wholeLog(log), parts: [{ ...wholeLog(log).parts[0]!, activity: activityOf(index) }] },
      )
    }
  })
  library.close()
}

function logOf(index: number): ReadLog {
  return {
    fileName: `log${index}.csv`,
    bytes: 1e6,
    dialect: { separator: ',', decimal: '.', headerLine: 1, firstDataLine: 2, compression: 'none' },
    preamble: [],
    headerKey: 'bench',
    columns: COLUMNS.map((name, column) => ({
      index: column,
      name,
      type: column === 0 ? 'f64' : 'f32',
      examples: ['0.125', '0.25'],
      min: 0,
      max: 1,
    })),
    assignments: ROLES.map(assigned),
    notices: Array.from({ length: index % 4 }, (_, at) => ({
      level: 'caution' as const,
      text: `Something that is to be known of this log, number ${at}.`,
      cost: 'It costs that much.',
    })),
    rows: 120_000,
    contentHash: `bench-${index}`,
    clock: {
      rows: 120_000,
      duration_s: 60 + (index % 200),
      effectiveRate_hz: 2000,
      nominalRate_hz: 2000,
      wraps: 0,
      duplicates: 0,
      backward: 0,
      gaps: 0,
      longestGap_s: 0,
      missingFrames: 0,
    },
    layout: { format: 1, rows: 120_000, groupRows: 65_520, columns: [] },
    restarts: [],
  }
}

const ROLES: readonly Role[] = ['time', 'gyro.roll', 'gyro.pitch', 'gyro.yaw', 'throttle']

function assigned(role: Role, column: number): Assignment {
  const unit = role === 'time' ? 's' : role === 'throttle' ? 'percent' : 'dps'
  return {
    role,
    column,
    name: COLUMNS[column] ?? '',
    unit,
    sign: 1,
    sure: 'certain',
    setBy: 'program',
    how: 'By its name.',
  }
}

/** A hover with a busy middle, somewhat different from flight to flight. */
function activityOf(index: number): ActivityStrip {
  const steps = Array.from({ length: STRIP_STEPS }, (_, step) => step)
  return {
    power_percent: steps.map((step) => Math.round(40 + 15 * Math.sin(step / 5 + index))),
    powerFrom: 'throttle',
    turn_dps: steps.map((step) => Math.round(20 + 300 * Math.exp(-(((step - 24 - (index % 9)) / 8) ** 2)))),
  }
}
