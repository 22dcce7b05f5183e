import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createDesk } from '../../electron/desk/desk.ts'
import { fillLogbook } from '../many-flights.ts'

const FLIGHTS = 10_000
const RUNS = 15
/**
 * A logbook of 10,000 flights with records of an ordinary size (30 columns, settings sheets of 2.5 kB): the time
 * from request to reply at the desk, JSON and checks included. Median of 15.
 */
export async function bench(): Promise<{ name: string; value: number; unit: string; goal?: string }[]> {
  const home = mkdtempSync(join(tmpdir(), 'twopack-bench-'))
  try {
    fillLogbook(home, FLIGHTS)
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

if (import.meta.main) console.table(await bench())
