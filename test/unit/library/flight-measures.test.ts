/** What the table of all flights' measures says of one flight by itself. */
import { describe, expect, test } from 'vitest'
import { VERDICT_COLUMNS, verdictFigures } from '../../../electron/library/measures/measure-stored.ts'
import { detectManoeuvres } from '../../../workers/manoeuvre/detect.ts'
import { compareFlights } from '../../../workers/verdict/compare-flights.ts'
import { flown, SOFT } from '../../studies/flights.ts'

const { signals } = flown(21, { tune: SOFT })
const row = verdictFigures(signals, [])
const at = (name: string, of = row) => {
  const index = VERDICT_COLUMNS.indexOf(name)
  if (index < 0) throw new Error(`no column ${name}`)
  return of[index]
}

describe('the verdict’s measures of one flight', () => {
  test('stand under their columns, with interval and count', () => {
    expect(row).toHaveLength(VERDICT_COLUMNS.length)
    expect(new Set(VERDICT_COLUMNS).size).toBe(VERDICT_COLUMNS.length)
    const name = 'roll: Bounce-back, by manoeuvre'
    const value = at(`${name} (deg/s)`)!
    expect(at(`${name}, low`)!).toBeLessThan(value)
    expect(at(`${name}, high`)!).toBeGreaterThan(value)
    expect(at(`${name}, manoeuvres`)!).toBeGreaterThan(6)
  })

  test('are what the pairs of the flight with itself show', () => {
    const { measures } = compareFlights(signals, signals)
    for (const [key, name, reach] of [
      ['trackingError.roll', 'roll: Tracking error, RMS, by manoeuvre (deg/s)', 0.1],
      ['lag.pitch', 'pitch: Lag, by manoeuvre (ms)', 0.05],
      ['bouncePeak.roll', 'roll: Bounce-back, by manoeuvre (deg/s)', 0.15],
    ] as const) {
      // The one is the pairs' median, the other Hodges and Lehmann's centre of all manoeuvres.
      const median = measures.find((measure) => measure.key === key)!.a!
      expect(Math.abs(at(name)! / median - 1), name).toBeLessThan(reach)
    }
  })

  test('a manoeuvre that was left out counts no more; what no manoeuvre shows is empty', () => {
    const turn = detectManoeuvres(signals).find(({ axis, stop_s }) => axis === 'roll' && stop_s !== null)!
    const less = verdictFigures(signals, [{ id: turn.id, leaveOut: true }])
    const name = 'roll: Tracking error, RMS, by manoeuvre, manoeuvres'
    expect(at(name, less)).toBe(at(name)! - 1)
    const { channels, ...rest } = signals
    const blind = verdictFigures({ ...rest, channels: { 'gyro.roll': channels['gyro.roll']! } }, [])
    expect(blind).toHaveLength(VERDICT_COLUMNS.length)
    expect(blind.filter((value) => value !== null && value !== 0)).toEqual([])
  })
})
