import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createDesk } from '../../electron/desk/desk.ts'
import { Library } from '../../electron/library/library.ts'
import { nameColumns } from '../../workers/columns/name-columns.ts'
import type { ReadLog } from '../../workers/log/log.ts'

const FLIGHTS = 10_000
const RUNS = 15
const COLUMNS = [
  'time (s)',
  'gyro roll (deg/s)',
  'gyro pitch (deg/s)',
  'gyro yaw (deg/s)',
  'throttle (%)',
].concat(Array.from({ length: 25 }, (_, index) => `more ${index}`))

/**
 * A logbook of 10,000 flights with records of an ordinary size (30 columns, settings sheets of 2.5 kB): the time
 * from request to reply at the desk, JSON and checks included. Median of 15.
 */
export async function bench(): Promise<{ name: string; value: number; unit: string; goal?: string }[]> {
  const home = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  try {
    fill(home)
    const desk = await createDesk({ home, demo: false })
    const time = async (name: string, request: object) => {
      const times: number[] = []
      for (let run = 0; run < RUNS; run++) {
        const start_ms = performance.now()
        const reply = await desk.handle(
          new Request('http://desk/desk/call/logbook.list', {
            method: 'POST',
            body: JSON.stringify(request),
          }),
        )
        await reply.text()
        times.push(performance.now() - start_ms)
      }
      return { name, value: times.sort((a, b) => a - b)[RUNS >> 1]!, unit: 'ms', goal: '<= 30 ms' }
    }
    const figures = [
      await time('list, first 100 of 10,000', { limit: 100 }),
      await time('list, a page in the middle, by length', {
        limit: 100,
        offset: 5000,
        sort: 'length',
        group: 'none',
      }),
      await time('search that finds one', { limit: 100, search: 'pack 777' }),
      await time('search that finds half', { limit: 100, search: 'lantern' }),
      await time('search in the settings', { limit: 100, search: 'gain7 12' }),
    ]
    await desk.close()
    return figures
  } finally {
    rmSync(home, { recursive: true, force: true })
  }
}

function fill(home: string): void {
  const library = new Library(home)
  const assignments = nameColumns({ names: COLUMNS, unitTexts: [], samples: COLUMNS.map(() => null) })
  library.together(() => {
    for (let index = 0; index < FLIGHTS; index++) {
      const flownAt_ms =
        Date.parse('2020-01-01T08:00Z') + Math.floor(index / 8) * 86_400_000 + (index % 8) * 900_000
      library.add(
        logOf(index, assignments),
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
      )
    }
  })
  library.close()
}

function logOf(index: number, assignments: ReadLog['assignments']): ReadLog {
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
    assignments,
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

if (import.meta.main) console.table(await bench())
