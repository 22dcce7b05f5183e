import { describe, expect, test } from 'vitest'
import {
  applyFaults,
  COUNTER_RANGE_US,
  cutLastLine,
  NO_FAULTS,
  type Faults,
} from '../../../workers/model/faults.ts'
import { simulateFlight } from '../../../workers/model/flight.ts'
import { DEMO_STYLE } from '../../../workers/model/log-style.ts'
import { hovering } from '../../../workers/model/orders.ts'
import { baseSetup } from '../../../workers/model/scenarios.ts'

const record = simulateFlight(baseSetup(3, { orders: hovering(6), logRate_hz: 1000 }))
const faulty = (faults: Partial<Faults>) => applyFaults(record, DEMO_STYLE, { ...NO_FAULTS, ...faults }, 9)

describe('faults', () => {
  test('none leave the log as it is', () => {
    const { rows, stamps_s, report, style } = faulty({})
    expect(rows).toHaveLength(record.rows)
    expect(stamps_s).toEqual(record.t_s)
    expect(style.groups).toEqual(DEMO_STYLE.groups)
    expect(report).toMatchObject({
      rowsLost: 0,
      gaps: [],
      duplicateRows: [],
      backwardRows: [],
      wrapRow: null,
    })
  })

  test('lost rows come in bursts, are counted, and leave the gaps that the report names', () => {
    const { rows, report } = faulty({ lost: 0.05, lostBurst: 6 })
    expect(rows.length + report.rowsLost).toBe(record.rows)
    expect(report.rowsLost / record.rows).toBeGreaterThan(0.02)
    expect(report.rowsLost / record.rows).toBeLessThan(0.09)
    for (const { row, missing } of report.gaps) expect(rows[row]! - rows[row - 1]!).toBe(missing + 1)
    const found = rows.filter((value, row) => row > 0 && value - rows[row - 1]! > 1).length
    expect(found).toBe(report.gaps.length)
  })

  test('duplicate and backward stamps stand exactly where the report says', () => {
    const { stamps_s, report } = faulty({ duplicate: 0.01, backward: 0.005 })
    const steps = stamps_s.map((stamp, row) => (row === 0 ? 1 : stamp - stamps_s[row - 1]!))
    const rowsWhere = (test: (step: number) => boolean) =>
      [...steps.keys()].filter((row) => test(steps[row]!))
    expect(rowsWhere((step) => step === 0)).toEqual(report.duplicateRows)
    expect(rowsWhere((step) => step < 0)).toEqual(report.backwardRows)
    expect(report.duplicateRows.length).toBeGreaterThan(20)
    expect(report.backwardRows.length).toBeGreaterThan(10)
  })

  test("a counter of 32 bits runs over once, in the middle; unwrapped by method.md section 1 it is the flight's time", () => {
    const { stamps_s, report, style } = faulty({ wrap: true })
    expect(style.time).toEqual({ unit: 'us', decimals: 0 })
    const counter = [...stamps_s].map((stamp) => Math.round(stamp * 1e6))
    let wraps = 0
    const unwrapped = counter.map((value, row) => {
      // dt < -2^31 adds 2^32.
      if (row > 0 && value - counter[row - 1]! < -(2 ** 31)) wraps++
      return value + wraps * COUNTER_RANGE_US
    })
    expect(wraps).toBe(1)
    expect(counter[report.wrapRow!]!).toBeLessThan(counter[report.wrapRow! - 1]!)
    expect(Math.abs(report.wrapRow! - record.rows / 2)).toBeLessThan(2)
    unwrapped.forEach((value, row) =>
      expect(Math.abs((value - unwrapped[0]!) / 1e6 - record.t_s[row]!)).toBeLessThan(2e-6),
    )
  })

  test('jitter scatters stamps within its share of the interval', () => {
    const { stamps_s } = faulty({ jitter: 0.3 })
    const off = stamps_s.map((stamp, row) => Math.abs(stamp - record.t_s[row]!))
    expect(Math.max(...off)).toBeLessThanOrEqual(0.3e-3 + 1e-12)
    expect(Math.max(...off)).toBeGreaterThan(0.25e-3)
  })

  test('quantised rates are multiples of the step', () => {
    const { record: rounded } = faulty({ quantum_dps: 2 })
    expect(rounded.gyro_dps[0]!.every((value) => value % 2 === 0)).toBe(true)
    expect(rounded.stick[0]).toBe(record.stick[0])
  })

  test('left-out columns are gone from the style', () => {
    expect(faulty({ without: ['unfiltered', 'stick', 'dTerm', 'battery'] }).style.groups).toEqual([
      'time',
      'gyro',
      'setpoint',
      'throttle',
      'motor',
      'speed',
      'iTerm',
    ])
  })

  test('a cut last line keeps all others whole', () => {
    const log = new TextEncoder().encode('a,b\n1,2\n345,678\n')
    expect(new TextDecoder().decode(cutLastLine(log))).toBe('a,b\n1,2\n345')
  })

  test('the same seed spoils a log in the same way', () => {
    const faults = { lost: 0.02, duplicate: 0.01, jitter: 0.2 }
    expect(faulty(faults)).toEqual(faulty(faults))
  })
})
