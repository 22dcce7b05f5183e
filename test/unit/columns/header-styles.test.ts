import { describe, expect, test } from 'vitest'
import { nameColumns } from '../../../workers/columns/name-columns.ts'
import { ROLES, type Assignment } from '../../../workers/columns/roles.ts'
import { UNITS } from '../../../workers/units/units.ts'
import { ADVERSARIAL_STYLES } from './adversarial-styles.ts'
import type { HeaderStyle } from './header-style.ts'
import { PLAIN_STYLES } from './header-styles.ts'
import { inventedFlight } from './invented-flight.ts'

const flight = inventedFlight()

function nameStyle(style: HeaderStyle, columns = style.columns): Assignment[] {
  return nameColumns({
    names: columns.map((column) => column.name),
    ...(style.unitTexts ? { unitTexts: style.unitTexts } : {}),
    samples: columns.map(({ signal, scale = 1, offset = 0, whole }) => {
      const values = (flight[signal] as Float64Array).map((value) => value * scale + offset)
      return whole ? values.map(Math.round) : values
    }),
  })
}

const isRole = (signal: string): boolean => (ROLES as readonly string[]).includes(signal)

describe.each([
  ['plain', PLAIN_STYLES],
  ['adversarial', ADVERSARIAL_STYLES],
] as const)('%s headers', (_, styles) => {
  test.each(styles)('$label', (style) => {
    const found = nameStyle(style)
    const expected = style.columns.filter((column) => isRole(column.signal))
    expect(found.map((one) => `${one.role} <- ${one.name}`).sort()).toEqual(
      expected.map((column) => `${column.signal} <- ${column.name}`).sort(),
    )
    for (const one of found) {
      const wanted = style.units?.[one.role] ?? style.units?.[one.role.split('.')[0] ?? '']
      if (wanted) expect(`${one.role} ${one.unit}`).toBe(`${one.role} ${wanted}`)
      expect(`${one.role} ${one.sign}`).toBe(`${one.role} ${style.signs?.[one.role] ?? 1}`)
      expect(one.how).toMatch(/^.{20,}\.$/)
      // Rates must come back to deg/s whatever the file's unit was.
      const column = style.columns[one.column]
      if (column && /^(gyro|setpoint)/.test(one.role)) {
        expect(Math.abs((column.scale ?? 1) * UNITS[one.unit].scale)).toBeCloseTo(1, 6)
      }
    }
  })
})

describe('laws', () => {
  test('there are at least 30 invented headers, 10 of them adversarial', () => {
    expect(PLAIN_STYLES.length + ADVERSARIAL_STYLES.length).toBeGreaterThanOrEqual(30)
    expect(ADVERSARIAL_STYLES.length).toBeGreaterThanOrEqual(10)
  })

  test('the order of the columns does not matter', () => {
    for (const style of [...PLAIN_STYLES, ...ADVERSARIAL_STYLES]) {
      if (style.unitTexts) continue
      const names = (found: Assignment[]): string[] =>
        found.map((one) => `${one.role} <- ${one.name} ${one.unit}`).sort()
      expect(names(nameStyle(style, style.columns.toReversed()))).toEqual(names(nameStyle(style)))
    }
  })

  test('nothing but noise names nothing, and no numbers don’t fail', () => {
    expect(nameColumns({ names: ['a', 'b'], samples: [flight['acc.roll'] as Float64Array, null] })).toEqual(
      [],
    )
    expect(nameColumns({ names: [], samples: [] })).toEqual([])
    expect(
      nameColumns({ names: ['time', 'gyro_x'], samples: [new Float64Array(0), new Float64Array(0)] }),
    ).toEqual([])
  })

  test('gyro and setpoint with swapped names are doubted aloud', () => {
    const swap = (signal: string): string =>
      signal.replace(/^gyro|^setpoint/, (kind) => (kind === 'gyro' ? 'setpoint' : 'gyro'))
    const style = PLAIN_STYLES[0] as HeaderStyle
    const found = nameStyle(
      style,
      style.columns.map((column) => ({ ...column, signal: swap(column.signal) })),
    )
    const setpoint = found.find((one) => one.role === 'setpoint.roll')
    expect(setpoint?.sure).toBe('guess')
    expect(setpoint?.how).toContain('comes after the gyro')
  })
})
