/** A simulated flight's every column is known again by its header and numbers, in each of the model's wordings. */
import { expect, test } from 'vitest'
import { nameColumns } from '../../../workers/columns/name-columns.ts'
import { simulateFlight } from '../../../workers/model/flight.ts'
import {
  FINE_STYLE,
  HEADER_STYLES,
  styleColumns,
  type HeaderStyle,
} from '../../../workers/model/log-style.ts'
import { baseSetup } from '../../../workers/model/scenarios.ts'

const record = simulateFlight(baseSetup(5, { logRate_hz: 500 }))

const ROLE_OF_GROUP: Readonly<Record<string, string>> = { speed: 'speed', motor: 'motor' }
const AXES = ['roll', 'pitch', 'yaw']

test.each(Object.keys(HEADER_STYLES) as HeaderStyle[])('%s words', (words) => {
  const style = {
    ...FINE_STYLE,
    words: HEADER_STYLES[words],
    speed: { unit: 'erpm100' as const, decimals: 0 },
    term: { unit: 'termPercent' as const, decimals: 3 },
  }
  const columns = styleColumns(record, record.t_s, style)
  const found = nameColumns({
    names: columns.map(({ name }) => name),
    samples: columns.map(({ values, factor, shift }) =>
      Float64Array.from(values, (value) => value * factor + shift),
    ),
  })
  const counted = new Map<string, number>()
  const expected = columns.map(({ group }) => {
    const place = counted.get(group) ?? 0
    counted.set(group, place + 1)
    if (['time', 'throttle', 'battery'].includes(group)) return group
    return ROLE_OF_GROUP[group] ? `${group}.${place + 1}` : `${group}.${AXES[place]}`
  })
  const roles = columns.map((_, column) => found.find((one) => one.column === column)?.role)
  expect(roles).toEqual(expected)
  const unitOf = (role: string) => found.find((one) => one.role === role)?.unit
  // Electrical turns are known by the word or, where the header is terse, by their size at least as hundreds.
  expect(unitOf('speed.1')).toBe(words === 'terse' ? 'rpm' : 'erpm100')
  expect(unitOf('unfiltered.yaw')).toBe('dps')
  expect(unitOf('dTerm.roll')).toBe(words === 'terse' ? 'own' : 'termPercent')
})
