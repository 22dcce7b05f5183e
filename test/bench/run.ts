/**
 * `npm run bench [-- NAME...]`: runs the benchmarks in this folder and prints their figures beside the goals.
 * Figures are ratios against a named peer in the same run wherever there is one; nothing here passes or fails.
 */
import '../../electron/node-version.ts'
import { globSync } from 'node:fs'
import { basename, join } from 'node:path'

/** One measured figure. `goal` is written as people read it: '>= 4', '<= 30 ms'. */
export interface Figure {
  readonly name: string
  readonly value: number
  readonly unit: string
  readonly goal?: string
}

/** Those that take a gigabyte of disk or minutes. */
const BY_NAME_ONLY = ['intake-1gb.bench.ts']

const wanted = process.argv.slice(2)
const files = globSync('*.bench.ts', { cwd: import.meta.dirname })
  .filter((file) =>
    BY_NAME_ONLY.includes(file)
      ? wanted.includes(basename(file, '.bench.ts'))
      : wanted.length === 0 || wanted.some((name) => file.includes(name)),
  )
  .sort()
if (files.length === 0) {
  console.error(`No benchmark is called ${wanted.join(' or ')}.`)
  process.exitCode = 2
}
for (const file of files) {
  console.log(`\n${basename(file, '.bench.ts')}`)
  const { bench } = (await import(join(import.meta.dirname, file))) as { bench: () => Promise<Figure[]> }
  for (const { name, value, unit, goal } of await bench()) {
    console.log(`  ${name}: ${Number(value.toPrecision(3))} ${unit}${goal ? `  (goal ${goal})` : ''}`)
  }
}
