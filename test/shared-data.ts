import { existsSync } from 'node:fs'
import { join } from 'node:path'

const root = process.env['TWOPACK_SHARED'] ?? join(import.meta.dirname, '../../shared')

/**
 * Path of a file of the shared data set, or null when the set is not there, so that a test can be skipped.
 * With CI set a missing file is an error: there the tests must not quietly shrink.
 */
export function sharedData(relativePath: string): string | null {
  const path = join(root, 'data', relativePath)
  if (existsSync(path)) return path
  if (process.env['CI']) throw new Error(`shared data missing: ${path}`)
  return null
}
