import { readFileSync } from 'node:fs'
import { sharedData } from '../../shared-data.ts'

/** The rows of numbers behind the last line that begins with "Data:" of a NIST reference data file; null when missing. */
export function nistRows(name: string): number[][] | null {
  const path = sharedData(`nist-strd/${name}.dat`)
  if (path === null) return null
  const text = readFileSync(path, 'utf8')
  const from = Math.max(text.lastIndexOf('Data:'), text.lastIndexOf('-----'))
  const body = text.slice(text.indexOf('\n', from) + 1)
  return body
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '')
    .map((line) => line.split(/\s+/).map(Number))
}

/** One column of the rows. */
export const columnOf = (rows: readonly number[][], index: number): number[] => rows.map((row) => row[index]!)
