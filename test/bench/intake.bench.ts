import { createReadStream, createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs'
import { execFileSync } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Writable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { createGunzip, createGzip } from 'node:zlib'
import { readWhole } from '../../electron/intake/read-whole.ts'
import { readLog } from '../../electron/intake/intake.ts'
import { writeLog } from './intake-log.ts'
import { duckdb } from './intake-duckdb.ts'
import { measuredReading } from './intake-memory.ts'
import type { Figure } from './run.ts'

const ROWS = 600_000
const RUNS = 5

/**
 * Reading a log of 600,000 rows and 40 columns, 127 MB, into a durable column file with its first min/max level.
 * Peers in the same run, best of five each, the figures taken in turn: DuckDB with two threads into a table of 32-bit
 * columns, durable and in memory (`npm i --no-save @duckdb/node-api`, or its path in TWOPACK_DUCKDB), and pandas into
 * float32 (Debian's python3-pandas). Memory is that of a process of its own that runs the built program.
 */
export async function bench(): Promise<Figure[]> {
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  try {
    const plain = join(folder, 'log.csv')
    const packed = join(folder, 'log.csv.gz')
    await writeLog(plain, ROWS)
    await pipeline(createReadStream(plain), createGzip(), createWriteStream(packed))
    const megabytes = statSync(plain).size / 1e6
    console.log(`  ${megabytes.toFixed(0)} MB of text, ${(statSync(packed).size / 1e6).toFixed(0)} MB packed`)
    const durable = await duckdb(join(folder, 'peer.db'))
    const inMemory = await duckdb(':memory:')
    const contenders = new Map<string, () => Promise<number>>([
      ['rows', () => rowsOnly(plain, folder)],
      ['packed', () => rowsOnly(packed, folder)],
      ['whole', () => timed(() => readLog(plain, { columnFile: join(folder, 'columns') }))],
      ['gunzip', () => timed(() => unpack(packed))],
    ])
    if (durable && inMemory) {
      contenders.set('durable', () => timed(() => durable(plain)))
      contenders.set('durable packed', () => timed(() => durable(packed)))
      contenders.set('in memory', () => timed(() => inMemory(plain)))
      contenders.set('in memory packed', () => timed(() => inMemory(packed)))
    } else console.log('  (DuckDB is not installed: no ratio)')
    const best_ms = await bestOf(contenders)
    const pandas_ms = pandas(plain)
    const ratio = (peer: string, ours: string): number =>
      (best_ms.get(peer) as number) / (best_ms.get(ours) as number)
    const figures: Figure[] = [
      { name: 'rows into the column file', value: best_ms.get('rows') as number, unit: 'ms' },
      { name: 'the same', value: megabytes / ((best_ms.get('rows') as number) / 1000), unit: 'MB/s' },
      { name: 'from gzip', value: best_ms.get('packed') as number, unit: 'ms' },
      {
        name: 'from gzip, against unpacking alone',
        value: ratio('packed', 'gunzip'),
        unit: 'x',
        goal: '<= 1.3',
      },
      {
        name: 'whole reading, with look, naming, clock and health',
        value: best_ms.get('whole') as number,
        unit: 'ms',
      },
    ]
    if (durable) {
      figures.push(
        {
          name: 'DuckDB, durable table, against rows',
          value: ratio('durable', 'rows'),
          unit: 'x',
          goal: '>= 4',
        },
        { name: 'DuckDB, table in memory, against rows', value: ratio('in memory', 'rows'), unit: 'x' },
        {
          name: 'DuckDB from gzip, durable',
          value: ratio('durable packed', 'packed'),
          unit: 'x',
          goal: '>= 2',
        },
        { name: 'DuckDB from gzip, in memory', value: ratio('in memory packed', 'packed'), unit: 'x' },
      )
    }
    if (pandas_ms !== null) {
      const value = pandas_ms / (best_ms.get('rows') as number)
      figures.push({ name: 'pandas float32, against rows', value, unit: 'x', goal: '>= 5' })
    } else console.log('  (pandas is not installed: no ratio)')
    return [...figures, ...(await memoryFigures({ plain, packed }))]
  } finally {
    rmSync(folder, { recursive: true })
  }
}

async function memoryFigures(files: Readonly<Record<string, string>>): Promise<Figure[]> {
  const figures: Figure[] = []
  for (const [name, path] of Object.entries(files)) {
    const { idle_mb, peak_mb, file_mb } = await measuredReading(path)
    figures.push(
      {
        name: `${name}: peak memory above the idle process`,
        value: peak_mb - idle_mb,
        unit: 'MB',
      },
      { name: `${name}: peak memory of the whole process`, value: peak_mb, unit: 'MB', goal: '<= 100' },
      { name: `${name}: of that, the runtime's program file (shared)`, value: file_mb, unit: 'MB' },
    )
  }
  return figures
}

/** Best times of some contenders, taken in turn, so that a noisy moment of the machine meets all of them. */
async function bestOf(contenders: ReadonlyMap<string, () => Promise<number>>): Promise<Map<string, number>> {
  const best_ms = new Map<string, number>()
  for (let run = 0; run < RUNS; run += 1) {
    for (const [name, time] of contenders) {
      best_ms.set(name, Math.min(best_ms.get(name) ?? Infinity, await time()))
    }
  }
  return best_ms
}

/** Milliseconds of pandas' fast reader into 32-bit columns, best of three; null where there is none. */
function pandas(path: string): number | null {
  const script = `import sys, time, numpy, pandas
best = 1e9
for run in range(3):
    start = time.perf_counter()
    pandas.read_csv(sys.argv[1], dtype=numpy.float32, engine='c')
    best = min(best, time.perf_counter() - start)
print(best * 1000)`
  try {
    return Number(execFileSync('/usr/bin/python3', ['-c', script, path], { encoding: 'utf8', stdio: 'pipe' }))
  } catch {
    // No Python here, or one without pandas: the caller says that there is no ratio.
    return null
  }
}

async function timed(work: () => Promise<unknown>): Promise<number> {
  const start_ms = performance.now()
  await work()
  return performance.now() - start_ms
}

/** From the first row to the durable column file, without the first look and the judging after. */
async function rowsOnly(path: string, folder: string): Promise<number> {
  const temporary = join(folder, 'columns.part')
  rmSync(temporary, { force: true })
  let start_ms = 0
  let end_ms = 0
  const onProgress = ({ phase }: { phase: string }): void => {
    if (phase === 'Reading' && start_ms === 0) start_ms = performance.now()
    if (phase === 'Checking') end_ms = performance.now()
  }
  await readWhole(
    { path, fileName: 'log.csv', temporary, assignments: null, contentHash: null },
    onProgress,
    () => undefined,
  )
  return end_ms - start_ms
}

async function unpack(path: string): Promise<void> {
  const nowhere = new Writable({ write: (_, __, done) => done() })
  await pipeline(createReadStream(path), createGunzip({ chunkSize: 256 << 10 }), nowhere)
}

if (import.meta.main) console.table(await bench())
