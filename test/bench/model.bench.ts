import { simulateFlight } from '../../workers/model/flight.ts'
import { DEMO_STYLE, FINE_STYLE } from '../../workers/model/log-style.ts'
import { writeLog } from '../../workers/model/log-text.ts'
import { baseSetup } from '../../workers/model/scenarios.ts'
import { truthOf } from '../../workers/model/truth.ts'

const RUNS = 3

/**
 * How many times faster than real time a flight of over a minute is simulated at 8 kHz and logged at 2 kHz:
 * flown, its truth gathered and its log written as text. Best of three runs, the first of which warms up.
 */
export async function bench(): Promise<{ name: string; value: number; unit: string; goal?: number }[]> {
  const setup = baseSetup(1, { logRate_hz: 2000 })
  const style = { ...DEMO_STYLE, time: FINE_STYLE.time }
  let whole = 0
  let flown = 0
  for (let run = 0; run < RUNS; run++) {
    const start_ms = performance.now()
    const record = simulateFlight(setup)
    const flown_ms = performance.now() - start_ms
    const truth = truthOf('bench', 'bench', setup, record)
    writeLog(record, { style, preamble: [] })
    const whole_ms = performance.now() - start_ms
    flown = Math.max(flown, (truth.duration_s * 1000) / flown_ms)
    whole = Math.max(whole, (truth.duration_s * 1000) / whole_ms)
  }
  return [
    { name: 'simulated flight with truth and 2 kHz log', value: whole, unit: 'x real time', goal: 100 },
    { name: 'simulated flight alone', value: flown, unit: 'x real time' },
  ]
}

if (import.meta.main) console.table(await bench())
