import { readFileSync } from 'node:fs'
import { join } from 'node:path'

interface Reference {
  readonly student: { t: number; dof: number; cdf: number }[]
  readonly studentQuantiles: { p: number; dof: number; t: number }[]
  readonly normal: { z: number; cdf: number }[]
  readonly normalQuantiles: { p: number; z: number }[]
  readonly wilcoxon: { x: number[]; smaller: number; p: number; greater: number }[]
  readonly assignment: { cost: number[][]; total: number }[]
}

/** Values from SciPy 1.10; made by test/reference/verdict/statistics.py. */
export const reference = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../fixtures/verdict/statistics.json'), 'utf8'),
) as Reference
