import { describe, expect, test } from 'vitest'
import { csvText } from '../../../workers/text/csv-out.ts'
import { bandOf, pathOf, placeMarks, readAt, tableOf, type Curve } from '../../../renderer/ui/chart.ts'

const same = (value: number) => value
const curve: Curve = { side: 'a', name: 'level', x: [0, 1, 2, 3], y: [5, NaN, 7, 8] }

describe('a chart', () => {
  test('breaks its line at what is missing', () => {
    expect(pathOf(curve.x, curve.y, same, same)).toBe('M0.0 5.0M2.0 7.0L3.0 8.0')
    expect(pathOf(curve.x, curve.y, same, same, (index) => index < 3)).toBe('M0.0 5.0M2.0 7.0')
  })

  test('closes a band around both edges', () => {
    const band = bandOf({ ...curve, low: [1, 1, 1, 1], high: [2, 2, NaN, 2] }, same, same)
    expect(band).toBe('M0.0 2.0L1.0 2.0L3.0 2.0L3.0 1.0L1.0 1.0L0.0 1.0Z')
    expect(bandOf(curve, same, same)).toBe('')
  })

  test('writes no mark over another, and none beyond its end', () => {
    // Two flights' rotors, nearly the same speed, at the right end too: 10 px of text, 100 px and 40 px long.
    const [long, short] = ['x'.repeat(17), 'x'.repeat(6)]
    const places = placeMarks([10, 20, 50, 150, 480], [long, short, short, short, long], 500, 10)
    expect(places.map(({ line }) => line)).toEqual([0, 1, 2, 0, 0])
    expect(places.map(({ before }) => before)).toEqual([false, false, false, false, true])
    expect(placeMarks([10, 20], [short, short], 500, 10).map(({ line }) => line)).toEqual([0, 1])
    expect(placeMarks([10, 60], [short, short], 500, 10).map(({ line }) => line)).toEqual([0, 0])
  })

  test('reads the nearest value, and nothing outside', () => {
    expect(readAt(curve, 2.4)).toBe(7)
    expect(readAt(curve, 2.6)).toBe(8)
    expect(readAt(curve, 9)).toBeNaN()
  })

  test('has its numbers in a table and as CSV', () => {
    const table = tableOf([curve, { side: 'b', name: 'le"vel', x: [1, 4], y: [1 / 3, 2] }], 'f, Hz')
    expect(table.rows).toEqual([
      [0, 5, null],
      [1, null, 1 / 3],
      [2, 7, null],
      [3, 8, null],
      [4, null, 2],
    ])
    expect(csvText(table)).toBe(
      '"f, Hz",A level,"B le""vel"\r\n0,5,\r\n1,,0.3333333\r\n2,7,\r\n3,8,\r\n4,,2\r\n',
    )
  })
  test("its table holds the band's ends and what is not trusted too", () => {
    const banded: Curve = { ...curve, low: [4, 0, 6, 7], high: [6, 9, 8, NaN], trusted: [1, 1, 1, 0] }
    const { head, rows } = tableOf([banded], 's')
    expect(head).toEqual(['s', 'A level', 'A level, low end', 'A level, high end', 'A level, trusted'])
    expect(rows[0]).toEqual([0, 5, 4, 6, 'yes'])
    expect(rows.at(-1)).toEqual([3, 8, 7, null, 'no'])
  })
})
