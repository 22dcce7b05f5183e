import { describe, expect, test } from 'vitest'
import {
  filterDelays,
  filtersInSheet,
  loopRateInSheet,
  type SheetEntry,
} from '../../../workers/signal/sheet-filters.ts'

const sheet = (text: string): SheetEntry[] =>
  text
    .trim()
    .split('\n')
    .map((line) => line.split('=').map((part) => part.trim()))
    .map(([name, value]) => ({ name: name!, value: value! }))

describe('filters in a settings sheet', () => {
  test('are found by their words, their entries taken together', () => {
    const filters = filtersInSheet(
      sheet(`
        gyro low-pass Hz = 130
        gyro low-pass order = 2
        notch 1 Hz = 225
        notch 1 quality = 4
        D low-pass Hz = 90
        roll P = 1.1
        motor idle % = 5.5
      `),
    )
    expect(filters).toEqual([
      { place: 'gyro', kind: 'low-pass', f_hz: 130, order: 2, quality: Math.SQRT1_2, assumed: [] },
      { place: '', kind: 'notch', f_hz: 225, order: 2, quality: 4, assumed: [] },
      { place: 'D', kind: 'low-pass', f_hz: 90, order: 1, quality: Math.SQRT1_2, assumed: ['first order'] },
    ])
  })

  test('of other spellings are found too; those switched off are not', () => {
    const filters = filtersInSheet(
      sheet(`
        rate_lowpass_cutoff = 80 Hz
        accel lpf = 0
        stick low pass = off
        yaw notch centre = 150
      `),
    )
    expect(filters.map(({ place, kind, f_hz }) => [place, kind, f_hz])).toEqual([
      ['rate', 'low-pass', 80],
      ['yaw', 'notch', 150],
    ])
    expect(filters[1]!.assumed).toEqual(['quality 4'])
  })

  // Computed with SciPy 1.17: biquad low-pass 100 Hz at 2 kHz.
  test('have their delay in ms', () => {
    const entries = sheet('gyro low-pass Hz = 100\ngyro low-pass order = 2\nloop rate Hz = 2000')
    const rate_hz = loopRateInSheet(entries)!
    expect(rate_hz).toBe(2000)
    const [delay] = filterDelays(filtersInSheet(entries), rate_hz, 50)
    expect(delay!.delay_ms).toBeCloseTo(2.232, 2)
    expect(delay!.delayAt_ms).toBeCloseTo(2.64, 2)
    expect(loopRateInSheet(sheet('roll P = 3'))).toBeNull()
    expect(filterDelays(filtersInSheet(entries), 150, 10)).toEqual([])
  })
})
