import { describe, expect, test } from 'vitest'
import { applyAssignment } from '../../../workers/columns/apply-assignment.ts'
import { nameColumns } from '../../../workers/columns/name-columns.ts'
import { quantityOf, ROLES } from '../../../workers/columns/roles.ts'
import { unitsFor } from '../../../workers/units/units.ts'

const ROWS = 2000
/** A battery that sags from 16.6 V to 14.6 V with the load. */
const volts = (k: number): number => 16.6 - k / 1000 - 0.2 * (1 + Math.sin(k / 40))

/** The battery among these columns: its name and unit, or null. */
function found(
  columns: Readonly<Record<string, (k: number) => number>>,
  unitTexts?: string[],
): string | null {
  const names = ['time_ms', ...Object.keys(columns)]
  const samples = [(k: number) => k, ...Object.values(columns)].map((value) =>
    Float64Array.from({ length: ROWS }, (_, k) => value(k)),
  )
  const assignments = nameColumns({
    names,
    samples,
    ...(unitTexts ? { unitTexts: ['ms', ...unitTexts] } : {}),
  })
  const battery = assignments.find(({ role }) => role === 'battery')
  if (!battery) return null
  // Whatever the unit, volts come out.
  const column = samples[battery.column] as Float64Array
  expect(applyAssignment(column, battery)[0]).toBeCloseTo(volts(0), 1)
  return `${battery.name} ${battery.unit} ${battery.sure}`
}

describe('the battery’s voltage', () => {
  test.each<[string, number, string[] | undefined, string]>([
    ['vbat', 1, undefined, 'volt likely'],
    ['battery voltage [V]', 1, undefined, 'volt certain'],
    ['Battery_mV', 1000, undefined, 'millivolt certain'],
    ['batteryVoltage', 10, undefined, 'decivolt guess'],
    ['pack voltage', 100, undefined, 'centivolt guess'],
    ['supply voltage (0.01 V)', 100, undefined, 'centivolt certain'],
    ['Akkuspannung', 1, ['V'], 'volt certain'],
    ['Spannung Akku', 1000, undefined, 'millivolt guess'],
    ['tensión batería', 1, undefined, 'volt likely'],
  ])('%s times %d', (name, factor, unitTexts, expected) => {
    expect(found({ [name]: (k) => volts(k) * factor }, unitTexts)).toBe(`${name} ${expected}`)
  })

  test('is told from what else is said of a battery, and from other voltages', () => {
    expect(
      found({
        'battery current [A]': (k) => 20 + (k % 7),
        'battery cell voltage': () => 4.1,
        'battery [%]': (k) => 90 - k / 100,
        'bec voltage': () => 5.1,
        vbat: volts,
        'motor 1 voltage': () => 12,
      }),
    ).toBe('vbat volt likely')
    expect(found({ 'battery current': (k) => 20 + (k % 7), 'battery remaining': () => 80 })).toBeNull()
  })

  test('has the size of a battery', () => {
    expect(found({ vbat: () => 0 })).toBeNull()
    expect(found({ 'battery voltage [V]': () => 1500 })).toBeNull()
    expect(found({ vbat: () => NaN })).toBeNull()
  })

  test('every role can be given a unit', () => {
    for (const role of ROLES) expect(unitsFor(quantityOf(role)).length).toBeGreaterThan(0)
  })
})
