import { createReadStream, createWriteStream, existsSync, mkdtempSync, rmSync, statSync } from 'node:fs'
import { execFileSync } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { Writable } from 'node:stream'
import { pipeline } from 'node:stream/promises'
import { createGunzip, createGzip } from 'node:zlib'
import { readLog } from '../../electron/intake/intake.ts'
import { readWhole } from '../../electron/intake/read-whole.ts'
import type { Figure } from './run.ts'

const ROWS = 600_000
const RUNS = 3

/**
 * Reading a log of 600,000 rows and 40 columns, about 127 MB, into a durable column file with its first min/max
 * level. The peer, where it is installed (`npm i --no-save @duckdb/node-api`), reads the same file into a durable
 * table of 32-bit columns with two threads. Best of three runs each; the figures are taken in turn.
 */
export async function bench(): Promise<Figure[]> {
  const folder = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  try {
    const plain = join(folder, 'log.csv')
    const packed = join(folder, 'log.csv.gz')
    await writeLog(plain)
    await pipeline(createReadStream(plain), createGzip(), createWriteStream(packed))
    const megabytes = statSync(plain).size / 1e6
    const figures: Figure[] = []
    const best = { rows: Infinity, rowsPacked: Infinity, whole: Infinity, gunzip: Infinity }
    const peer = { plain: Infinity, packed: Infinity }
    const peerRun = await duckdb(folder)
    for (let run = 0; run < RUNS; run += 1) {
      best.rows = Math.min(best.rows, await rowsOnly(plain, folder))
      best.whole = Math.min(
        best.whole,
        await timed(() => readLog(plain, { columnFile: join(folder, 'columns') })),
      )
      best.rowsPacked = Math.min(best.rowsPacked, await rowsOnly(packed, folder))
      best.gunzip = Math.min(best.gunzip, await timed(() => unpack(packed)))
      if (!peerRun) continue
      peer.plain = Math.min(peer.plain, await timed(() => peerRun(plain)))
      peer.packed = Math.min(peer.packed, await timed(() => peerRun(packed)))
    }
    figures.push(
      { name: 'rows into the column file', value: megabytes / (best.rows / 1000), unit: 'MB/s' },
      { name: 'the same from gzip', value: megabytes / (best.rowsPacked / 1000), unit: 'MB/s of text' },
      {
        name: 'from gzip, against unpacking alone',
        value: best.rowsPacked / best.gunzip,
        unit: 'x',
        goal: '<= 1.3',
      },
      { name: 'whole reading, with naming, clock and health', value: best.whole, unit: 'ms' },
      { name: 'peak memory of a process that reads it', value: peakOf(plain), unit: 'MB', goal: '<= 100' },
    )
    if (peerRun) {
      figures.push(
        {
          name: 'DuckDB with 2 threads, time against rows',
          value: peer.plain / best.rows,
          unit: 'x',
          goal: '>= 4',
        },
        { name: 'the same from gzip', value: peer.packed / best.rowsPacked, unit: 'x', goal: '>= 2' },
      )
    } else console.log('  (DuckDB is not installed: no ratio)')
    return figures
  } finally {
    rmSync(folder, { recursive: true })
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
  await readWhole({ path, fileName: 'log.csv', temporary, assignments: null }, onProgress, () => undefined)
  return end_ms - start_ms
}

async function unpack(path: string): Promise<void> {
  const nowhere = new Writable({ write: (_, __, done) => done() })
  await pipeline(createReadStream(path), createGunzip({ chunkSize: 256 << 10 }), nowhere)
}

/** Peak resident memory in MB of a fresh process that reads the file and does nothing else. */
function peakOf(path: string): number {
  const intake = join(import.meta.dirname, '../../electron/intake/intake.ts')
  const script = `const { readLog } = await import(${JSON.stringify(intake)});
    await readLog(${JSON.stringify(path)}, { columnFile: ${JSON.stringify(`${path}.columns`)} });
    console.log(process.resourceUsage().maxRSS / 1000)`
  return Number(execFileSync(process.execPath, ['--input-type=module', '-e', script], { encoding: 'utf8' }))
}

/** A run of the peer: the file into a new durable table of 32-bit columns. Null where it is not installed. */
async function duckdb(folder: string): Promise<((path: string) => Promise<void>) | null> {
  const specifier = process.env['TWOPACK_DUCKDB'] ?? '@duckdb/node-api'
  const found = (await import(specifier).catch(() => null)) as { DuckDBInstance: DuckDB } | null
  if (!found) return null
  const database = join(folder, 'peer.db')
  return async (path) => {
    for (const file of [database, `${database}.wal`]) if (existsSync(file)) rmSync(file)
    const instance = await found.DuckDBInstance.create(database, { threads: '2' })
    const connection = await instance.connect()
    await connection.run(
      `create table log as select columns(*)::float from read_csv('${path}', header = true)`,
    )
    await connection.run('checkpoint')
    connection.closeSync()
    instance.closeSync()
  }
}

interface DuckDB {
  create(
    path: string,
    options: Record<string, string>,
  ): Promise<{
    connect(): Promise<{ run(sql: string): Promise<unknown>; closeSync(): void }>
    closeSync(): void
  }>
}

/** Writes a made log: time, three axes of gyro, setpoint and stick, throttle, motors, and columns to fill up to 40. */
async function writeLog(path: string): Promise<void> {
  const axes = ['roll', 'pitch', 'yaw']
  const names = [
    'time_s',
    ...['gyro', 'setpoint', 'stick'].flatMap((kind) => axes.map((axis) => `${kind}.${axis}`)),
    'throttle',
    ...[1, 2, 3, 4].map((motor) => `motor.${motor}`),
    ...Array.from({ length: 25 }, (_, extra) => `extra.${extra}`),
  ]
  let state = 1
  const random = (): number => (state = (state * 48271) % 2147483647) / 2147483647
  const out = createWriteStream(path)
  let text = `${names.join(',')}\n`
  for (let row = 0; row < ROWS; row += 1) {
    const angle = row / 300
    const cells = [(row / 2000).toFixed(4)]
    for (const size of [300, 200, 90]) cells.push((size * Math.sin(angle) + 6 * random()).toFixed(3))
    for (const size of [300, 200, 90]) cells.push((size * Math.sin(angle + 0.02)).toFixed(2))
    for (const size of [0.4, 0.3, 0.1]) cells.push((size * Math.sin(angle + 0.02)).toFixed(4))
    cells.push((0.5 + 0.2 * Math.sin(angle / 9)).toFixed(3))
    for (let motor = 0; motor < 4; motor += 1) cells.push(String(1000 + Math.floor(1000 * random())))
    for (let extra = 0; extra < 25; extra += 1) {
      cells.push(
        extra % 3 === 0
          ? (10 * random() - 5).toFixed(5)
          : extra % 3 === 1
            ? String(Math.floor(100 * random()))
            : (99 * random()).toFixed(1),
      )
    }
    text += `${cells.join(',')}\n`
    if (text.length < 1 << 20) continue
    if (!out.write(text)) await new Promise<void>((resolve) => out.once('drain', () => resolve()))
    text = ''
  }
  await new Promise<void>((resolve) => out.end(text, resolve))
}

if (import.meta.main) console.table(await bench())
