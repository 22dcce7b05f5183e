import { readFileSync } from 'node:fs'
import { gunzipSync } from 'node:zlib'
import { sharedData } from '../../shared-data.ts'

/** The sequence of test/reference/signal/spectra.py, and the seed of everything random in these tests. */
export function randomInput(seed: number, count: number): Float64Array {
  const values = new Float64Array(count)
  let state = seed
  for (let n = 0; n < count; n++) {
    state = (1664525 * state + 1013904223) % 2 ** 32
    values[n] = state / 2 ** 32 - 0.5
  }
  return values
}

/** Normal deviates of standard deviation 1 by Box and Muller; the first numbers of a seed are thrown away. */
export function normalInput(seed: number, count: number): Float64Array {
  const uniform = randomInput(seed, 2 * count + 20).subarray(20)
  const values = new Float64Array(count)
  for (let n = 0; n < count; n++) {
    const radius = Math.sqrt(-2 * Math.log(uniform[2 * n]! + 0.5 + 2 ** -33))
    values[n] = radius * Math.cos(2 * Math.PI * uniform[2 * n + 1]!)
  }
  return values
}

/** True where the shared data are not there: tests that need them are skipped then. */
export const noSharedData = sharedData('README.md') === null

/** Columns of a shared table by name. */
export function sharedColumns(relativePath: string): (name: string) => Float64Array {
  const path = sharedData(relativePath)
  if (path === null) throw new Error(`shared data missing: ${relativePath}`)
  const bytes = readFileSync(path)
  const text = (path.endsWith('.gz') ? gunzipSync(bytes) : bytes).toString('utf8')
  const [header, ...rows] = text.trim().split('\n')
  const names = header!.trim().split(',')
  const columns = names.map(() => new Float64Array(rows.length))
  rows.forEach((row, n) => row.split(',').forEach((cell, column) => (columns[column]![n] = Number(cell))))
  return (name) => {
    const column = columns[names.indexOf(name)]
    if (!column) throw new Error(`no column ${name} in ${relativePath}`)
    return column
  }
}

/** Columns of a shared flight with its clock, cut to a span. */
export function quadFlight(file: string, from_s = -Infinity, to_s = Infinity) {
  const column = sharedColumns(`research-quad/${file}`)
  const all = column('time_s')
  const start = all.findIndex((t) => t >= from_s)
  const after = all.findIndex((t) => t > to_s)
  const end = after < 0 ? all.length : after
  return {
    rate_hz: (all.length - 1) / (all[all.length - 1]! - all[0]!),
    t_s: all.subarray(start, end),
    column: (name: string) => column(name).subarray(start, end),
  }
}
